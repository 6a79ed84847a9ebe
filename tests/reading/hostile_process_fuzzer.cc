// Anything as what a reader's process does: what it sends, in whatever pieces, where it is silent,
// ends or is killed. girdled never waits for ever, accounts for every byte of every document, and
// loses at most one more once the process does what it should.
//
// There is no process, and no time passes: this file takes the place of child_process.cc, and the
// clock is moved to whatever is waited for. An input is three bytes, one for each document, and
// then the play: one deed after the other, whenever girdled looks what came.
#include <cstdint>
#include <cstdio>
#include <cstdlib>

#include "reading/child_process.h"
#include "reading/mappings.h"
#include "reading/reader.h"

namespace girdle::reading {
namespace {

using wire::FrameType;
using wire::FrameWriter;

void require(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "%s\n", what);
  std::abort();
}

enum class Deed : uint8_t {
  kFrame,        // its type, the size of its body, the body
  kBytes,        // how many, and they
  kFlood,        // the last of these again and again
  kSilence,      // nothing, this time
  kEnd,          // how
  kWrite,        // to standard error: how much, and what
  kWork,         // more processor time than it has
  kAsItShould,   // answers what it was asked
  kCannotStart,  // only looked at when it is started
  kCount,
};

// What the process of the test does.
class Play {
 public:
  // What it does from now on; when that is over, what it should.
  void perform(std::string_view script) { script_ = script; }
  bool is_over() const { return script_.empty(); }

  SteadyTime now() const { return now_; }
  // There is nothing to do but to wait.
  void wait(SteadyTime until) {
    const auto a_little = std::chrono::milliseconds(is_over() ? 100'000 : 100);
    now_ = std::max(now_, std::min(until, now_ + a_little));
    if (dies_ && how_it_ended_.empty()) how_it_ended_ = "was killed by girdled";
  }

  bool can_start() {
    if (is_over() || static_cast<uint8_t>(script_[0]) != uint8_t(Deed::kCannotStart)) return true;
    take(1);
    return false;
  }
  void start() {
    asked_.emplace(uint64_t{1} << 30);
    sent_.clear();
    how_it_ended_.clear();
    said_.clear();
    closed_ = killed_ = worked_ = dies_ = false;
  }

  void hear(std::string_view bytes) {
    bytes.copy(asked_->room(bytes.size()), bytes.size());
    asked_->added(bytes.size());
  }
  // What it sends next, at most so much; empty: nothing now.
  std::string send(size_t most) {
    if (sent_.empty() && !closed_) act();
    const size_t size = std::min(most, sent_.size());
    std::string piece = sent_.substr(0, size);
    sent_.erase(0, size);
    return piece;
  }
  bool is_closed() const { return closed_; }
  // At once, or when it is waited for.
  void kill() {
    closed_ = dies_ = true;
    if (script_.size() % 2 == 0) wait(now_);
  }
  const std::string& how_it_ended() const { return how_it_ended_; }
  bool was_killed() const { return killed_; }
  bool has_worked() const { return worked_; }
  std::string take_said() { return std::exchange(said_, {}); }

 private:
  std::string_view take(size_t size) {
    const std::string_view taken = script_.substr(0, size);
    script_.remove_prefix(taken.size());
    return taken;
  }
  uint8_t number() {
    const std::string_view byte = take(1);
    return byte.empty() ? 0 : static_cast<uint8_t>(byte[0]);
  }

  void act() {
    if (is_over()) return as_it_should();
    switch (static_cast<Deed>(number() % uint8_t(Deed::kCount))) {
      case Deed::kFrame: {
        const auto type = static_cast<FrameType>(16 + number() % 11);
        last_.clear();
        FrameWriter frame(last_, type);
        last_ += take(number());
        break;
      }
      case Deed::kBytes:
        last_ = take(number());
        break;
      case Deed::kFlood:
        for (int i = 0; i < 2000; ++i) sent_ += last_;
        return;
      case Deed::kEnd:
        return end();
      case Deed::kWrite:
        said_ = take(number());
        return;
      case Deed::kWork:
        worked_ = true;
        return;
      case Deed::kAsItShould:
        return as_it_should();
      default:
        return;
    }
    sent_ = last_;
  }

  void end() {
    constexpr const char* kHow[] = {"ended its process", "crashed", "was killed", ""};
    const uint8_t how = number() % 4;
    how_it_ended_ = kHow[how];
    killed_ = how == 2;
    closed_ = true;
  }

  // Sets all that it is fed aside.
  void as_it_should() {
    while (const auto frame = asked_->next()) {
      switch (frame->type) {
        case FrameType::kStart:
          wire::put_frame(sent_, FrameType::kReady);
          break;
        case FrameType::kBegin:
          fed_ = 0;
          wire::put_frame(sent_, FrameType::kCreated);
          break;
        case FrameType::kFeed:
          set_aside(frame->body.size());
          FrameWriter(sent_, FrameType::kFed).u32(GIRDLE_OK).u64(fed_);
          break;
        case FrameType::kEnd:
          FrameWriter(sent_, FrameType::kDone).u32(GIRDLE_OK).u64(fed_).u32(GIRDLE_FAILED).u32(0);
          break;
        case FrameType::kDrop:
          wire::put_frame(sent_, FrameType::kDropped);
          break;
        default:
          require(false, "girdled asks what nobody knows");
      }
    }
  }

  void set_aside(size_t size) {
    wire::RecordWriter records(sent_, 64, 10);
    const girdle_aside aside{sizeof aside, 0, fed_, size, 1, {"good", 4}};
    records.aside(&aside);
    records.end_batch();
    fed_ += size;
  }

  std::string_view script_;
  SteadyTime now_{std::chrono::hours(1)};
  std::optional<wire::Frames> asked_;
  std::string sent_, last_, how_it_ended_, said_;
  bool closed_ = false, killed_ = false, worked_ = false, dies_ = false;
  uint64_t fed_ = 0;
};

Play play;

}  // namespace

// In the place of child_process.cc.

FileDescriptor::~FileDescriptor() = default;

base::Result<std::unique_ptr<ChildProcess>> ChildProcess::start(const std::filesystem::path&,
                                                                const std::string&) {
  if (!play.can_start()) return base::environment_error("cannot start it");
  play.start();
  return std::unique_ptr<ChildProcess>(new ChildProcess(1, {}, {}, {}));
}

ChildProcess::~ChildProcess() = default;

void ChildProcess::send() { play.hear(std::exchange(outgoing_, {})); }

ChildProcess::Came ChildProcess::receive(wire::Frames& frames, size_t& size) {
  const std::string piece = play.send(64 << 10);
  if (piece.empty()) return play.is_closed() ? Came::kEnd : Came::kNothing;
  size = piece.size();
  piece.copy(frames.room(size), size);
  frames.added(size);
  return Came::kBytes;
}

void ChildProcess::kill() { play.kill(); }

bool ChildProcess::ends_within(std::chrono::milliseconds) { return !how_it_ended().empty(); }

const std::string& ChildProcess::how_it_ended() {
  how_it_ended_ = play.how_it_ended();
  was_killed_ = play.was_killed();
  return how_it_ended_;
}

std::chrono::nanoseconds ChildProcess::processor_time() const {
  return std::chrono::seconds(play.has_worked() ? 301 : 0);
}

std::string ChildProcess::take_said() { return play.take_said(); }

namespace {

std::shared_ptr<Reader> open_reader() {
  static const Catalogue catalogue = Catalogue::scan({GIRDLE_TEST_READERS}, nullptr);
  Choice choice;
  choice.reader = "odd";
  choice.mapping = declaration_mapping();
  choice.mapping.fields[0].from = {"text"};
  choice.timezone = "UTC";
  choice.max_record_bytes = 64;
  choice.isolation.emplace().now = [] { return play.now(); };
  play.perform({});
  return *Reader::open(catalogue, std::move(choice));
}

// One document, in the way that its byte says.
class Document {
 public:
  Document(Reader& reader, uint8_t way) : way_(way), reading_(*reader.begin()) {}

  void read() {
    if (way_ % 4 == 3) return drop();
    if (!in_several_calls()) {
      reading_.start_all(bytes_, is_whole(), records_);
      go_on();
    } else {
      feed(std::string_view(bytes_).substr(0, bytes_.size() / 2));
      feed(std::string_view(bytes_).substr(bytes_.size() / 2));
      reading_.start_finish(is_whole(), records_);
      go_on();
    }
    look();
  }
  bool is_good() const { return reading_.fault().empty(); }

 private:
  bool is_whole() const { return (way_ & 4) == 0; }
  bool in_several_calls() const { return way_ % 4 != 0; }

  void feed(std::string_view bytes) {
    reading_.start_feed(bytes, records_);
    go_on();
  }

  // Every wait takes something off the play, or moves the clock to a time that bounds something.
  void go_on() {
    for (int waits = 0; waits < 10'000; ++waits) {
      const auto wait = reading_.step();
      if (!wait) return;
      play.wait(wait->until);
    }
    require(false, "it waits for ever");
  }

  void drop() {
    reading_.start_all(bytes_, true, records_);
    for (int step = 0; step < way_ / 4 % 8; ++step) {
      const auto wait = reading_.step();
      if (!wait) return;
      play.wait(wait->until);
    }
  }

  void look() const {
    const uint64_t size = bytes_.size();
    require(reading_.consumed() <= size, "more is done with than there was");
    require(records_.size() <= 2 * size + 2, "more records than there is place for");
    std::string made(size, ' '), told(size, ' ');
    for (const model::Declaration& one : records_.declarations) mark(made, one.place);
    for (const model::Aside& one : records_.asides) {
      mark(told, one.place);
      require(one.bytes == bytes_.substr(one.place.offset, one.bytes.size()), "other bytes");
      require(one.truncated == (one.bytes.size() < one.place.length), "not all the bytes");
    }
    if (is_good()) return;
    require(reading_.consumed() == size, "something was not set aside");
    if (in_several_calls()) return;  // what earlier calls gave is still there
    require(told == std::string(size, 'x'), "not all of it was set aside");
    require(records_.declarations.empty(), "something of it counts");
    require(records_.asides.back().reason == reading_.fault(), "the reason is another");
  }

  // No byte is told of that there is not, nor one twice; but what an earlier call told of is set
  // aside again when the reader had not done with it and fails.
  void mark(std::string& told, const model::Place& place) const {
    require(place.offset <= told.size() && place.length <= told.size() - place.offset, "no place");
    for (uint64_t i = 0; i < place.length; ++i) {
      const bool again = std::exchange(told[place.offset + i], 'x') != ' ';
      require(!again || (in_several_calls() && !is_good()), "told twice");
    }
  }

  const uint8_t way_;
  const std::string bytes_ = std::string(3 + way_ / 16, 'R') + "\nR2\n";
  model::Records records_;
  DocumentReading reading_;
};

bool reads_a_good_document(Reader& reader) {
  Document document(reader, 0);
  document.read();
  return document.is_good();
}

}  // namespace
}  // namespace girdle::reading

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  using namespace girdle::reading;
  std::string_view input(reinterpret_cast<const char*>(data), size);
  const auto reader = open_reader();
  constexpr size_t kDocuments = 3;
  play.perform(input.substr(std::min(kDocuments, size)));
  for (size_t i = 0; i < kDocuments && i < size; ++i) {
    Document(*reader, data[i]).read();
    reader->take_news();
  }
  play.perform({});
  if (!reads_a_good_document(*reader))
    require(reads_a_good_document(*reader), "a second document is lost to what is over");
  return 0;
}
