#include "reading/process_carrier.h"

#include "reading/blocking_wait.h"
#include "reading/reader_process.h"
#include "reading/wire.h"

namespace girdle::reading {
namespace {

using std::chrono::milliseconds;
using What = ReaderProcess::Heard::What;
using wire::FrameType;
using wire::FrameWriter;

// What a reader may say of a byte. A field of a document's head that each record repeats is within
// it; a reader that makes records up is not.
constexpr uint64_t kMostSaid = 256;
constexpr int64_t kMiB = 1 << 20;
constexpr milliseconds kForEachMiB{1000};

class ProcessCarrier final : public Carrier {
 public:
  ProcessCarrier(ReaderProcess& process, const girdle_reader_host& host,
                 const girdle_reader_setup& setup)
      : process_(process),
        host_(host),
        resume_(setup.resume.data, setup.resume.size),
        left_(process.plan().isolation.patience),
        records_(setup.max_fields) {}
  ~ProcessCarrier() override;

  void feed(std::string_view bytes) override {
    fed_ = bytes;
    feeds_ = true;
  }
  void end(bool whole) override {
    whole_ = whole;
    ends_ = true;
  }

  std::optional<Wait> step() override;
  const Answer& answer() override { return answer_; }
  bool refused() const override { return stage_ == Stage::kRefused; }
  std::string failure() override { return failure_; }
  std::string trouble() const override {
    return stage_ == Stage::kNew ? process_.trouble() : std::string();
  }
  void give_up() override;

 private:
  enum class Stage {
    kNew,      // the process does not know of it
    kAsked,    // an answer is awaited
    kTaken,    // the reader waits for a call
    kRefused,  // there is no reader
    kEnded,    // the reader is destroyed, as it should be
    kGivenUp,  // and so is its process
  };

  std::optional<Wait> get_ready();
  void ask();
  bool asks_again(const ReaderProcess::Heard& heard);
  void take(const wire::Frame& frame);
  void take_created();
  void take_refusal(std::string_view body);
  void take_records(std::string_view body);
  void take_fed(std::string_view body);
  void take_done(std::string_view body);
  void answered();
  void fail(const std::string& what);
  void fail_by_nonsense() { fail("sent what is no answer to what it was asked"); }

  ReaderProcess& process_;
  const girdle_reader_host& host_;
  const std::string resume_;
  Stage stage_ = Stage::kNew;

  // What is asked and not answered yet, in this order.
  bool begins_ = true;
  bool feeds_ = false, ends_ = false;
  std::string_view fed_;
  bool whole_ = false;
  bool asked_again_ = false;

  SteadyTime::duration left_;  // of the document's time
  SteadyTime asked_at_{};
  wire::RecordParser records_;
  Answer answer_;
  std::string state_;
  std::string failure_;
};

ProcessCarrier::~ProcessCarrier() {
  switch (stage_) {
    case Stage::kAsked:
      process_.stop();
      break;
    case Stage::kTaken:
      process_.drop_document();
      break;
    case Stage::kRefused:
    case Stage::kEnded:
      process_.end_document();
      break;
    case Stage::kNew:
    case Stage::kGivenUp:
      break;
  }
}

void ProcessCarrier::give_up() {
  if (stage_ == Stage::kAsked || stage_ == Stage::kTaken || stage_ == Stage::kEnded) {
    process_.fail();
    stage_ = Stage::kGivenUp;
  }
}

std::optional<Wait> ProcessCarrier::step() {
  for (;;) {
    if (stage_ == Stage::kNew) {
      if (auto wait = get_ready()) return wait;
    }
    if (stage_ == Stage::kTaken && (feeds_ || ends_)) ask();
    if (stage_ != Stage::kAsked) return std::nullopt;
    ReaderProcess::Heard heard = process_.hear(asked_at_ + left_);
    switch (heard.what) {
      case What::kWait:
        return heard.wait;
      case What::kEnd:
        if (!asks_again(heard)) fail(heard.why);
        break;
      case What::kFrame:
        take(heard.frame);
        if (stage_ != Stage::kAsked) return std::nullopt;
        break;
    }
  }
}

std::optional<Wait> ProcessCarrier::get_ready() {
  if (process_.is_busy()) {
    failure_ = "the reader " + process_.plan().reader + " reads one document at a time";
    stage_ = Stage::kGivenUp;
    return std::nullopt;
  }
  if (auto wait = process_.prepare()) return wait;
  process_.begin_document();
  stage_ = Stage::kTaken;
  return std::nullopt;
}

// Somebody killed the process, which no reader can do to itself, and it had not said a word of the
// document: that was not the document's fault, nor was it told too late. Another process is asked.
bool ProcessCarrier::asks_again(const ReaderProcess::Heard& heard) {
  if (!heard.killed || !begins_ || asked_again_) return false;
  asked_again_ = true;
  left_ = process_.plan().isolation.patience;
  process_.fail_between(heard.why);
  stage_ = Stage::kNew;
  return true;
}

void ProcessCarrier::ask() {
  std::string& out = process_.outgoing();
  if (begins_) FrameWriter(out, FrameType::kBegin).text(resume_);
  if (feeds_) {
    const FrameWriter frame(out, FrameType::kFeed);
    out.append(fed_);
    left_ += kForEachMiB * static_cast<int64_t>(fed_.size()) / kMiB;
  }
  if (ends_) FrameWriter(out, FrameType::kEnd).u32(whole_ ? 1 : 0);
  process_.expect(2 * wire::max_body(process_.plan().max_record_bytes) + kMostSaid * fed_.size());
  asked_at_ = process_.now();
  stage_ = Stage::kAsked;
}

void ProcessCarrier::take(const wire::Frame& frame) {
  switch (frame.type) {
    case FrameType::kCreated:
      return take_created();
    case FrameType::kRefused:
      return take_refusal(frame.body);
    case FrameType::kRecords:
      return take_records(frame.body);
    case FrameType::kOutside:
      return fail("broke its contract: it tells of a record outside of feed and finish");
    case FrameType::kFed:
      return take_fed(frame.body);
    case FrameType::kDone:
      return take_done(frame.body);
    default:
      return fail_by_nonsense();
  }
}

void ProcessCarrier::take_created() {
  if (!begins_) return fail_by_nonsense();
  begins_ = false;
}

void ProcessCarrier::take_refusal(std::string_view body) {
  if (!begins_) return fail_by_nonsense();
  wire::Parser parser(body);
  host_.refuse(&host_, wire::take_text(parser));
  stage_ = Stage::kRefused;
}

void ProcessCarrier::take_records(std::string_view body) {
  if (begins_ || !(feeds_ || ends_) || !records_.replay(body, host_)) return fail_by_nonsense();
  if (!records_.stopped()) return;
  answer_.status = GIRDLE_STOP;
  stage_ = Stage::kTaken;
}

void ProcessCarrier::take_fed(std::string_view body) {
  wire::Parser parser(body);
  answer_.status = static_cast<girdle_status>(parser.u32());
  answer_.consumed = parser.u64();
  if (begins_ || !feeds_ || !parser.done()) return fail_by_nonsense();
  feeds_ = false;
  fed_ = {};
  if (!ends_ || answer_.status != GIRDLE_OK) answered();
}

void ProcessCarrier::take_done(std::string_view body) {
  wire::Parser parser(body);
  answer_.status = static_cast<girdle_status>(parser.u32());
  answer_.consumed = parser.u64();
  answer_.saved = static_cast<girdle_status>(parser.u32());
  answer_.state = wire::take_text(parser);
  if (begins_ || feeds_ || !ends_ || !parser.done()) return fail_by_nonsense();
  if (answer_.state.data != nullptr && answer_.state.size != SIZE_MAX) {
    state_.assign(answer_.state.data, answer_.state.size);
    answer_.state = {state_.data(), state_.size()};
  }
  ends_ = false;
  answered();
  stage_ = Stage::kEnded;
}

void ProcessCarrier::answered() {
  left_ -= process_.now() - asked_at_;
  stage_ = Stage::kTaken;
}

void ProcessCarrier::fail(const std::string& what) {
  failure_ = "the reader " + process_.plan().reader + ' ' + what + process_.said();
  give_up();
}

class ProcessCarriage final : public Carriage {
 public:
  explicit ProcessCarriage(ReaderProcess::Plan plan) : process_(std::move(plan)) {}

  std::unique_ptr<Carrier> begin(const girdle_reader_host& host,
                                 const girdle_reader_setup& setup) override {
    return std::make_unique<ProcessCarrier>(process_, host, setup);
  }

  bool is_isolated() const override { return true; }
  base::Result<void> try_start() override;
  void warm_up() override {
    if (!process_.is_busy()) process_.prepare();
  }
  void shut_down() override {
    if (!process_.is_busy()) process_.shut_down();
  }
  ReaderNews take_news() override { return process_.take_news(); }

 private:
  ReaderProcess process_;
};

base::Result<void> ProcessCarriage::try_start() {
  const std::stop_token& stop = process_.plan().isolation.stop;
  while (const auto wait = process_.prepare()) {
    if (!process_.trouble().empty()) return base::input_error(process_.trouble());
    block(*wait, stop);
    if (stop.stop_requested()) return base::environment_error("it was not tried to its end");
  }
  return {};
}

std::string start_frame(const IsolatedReader& reader, const Isolation& isolation) {
  std::string out;
  const Manifest& manifest = reader.manifest;
  FrameWriter frame(out, FrameType::kStart);
  frame.u32(wire::kProtocol).u32(manifest.abi);
  frame.text(manifest.name).text(manifest.version).text(manifest.library.string());
  frame.u64(isolation.memory + 32 * reader.max_record_bytes);
  frame.u64(static_cast<uint64_t>(isolation.cpu.count()));
  frame.u64(reader.max_record_bytes).u64(reader.max_fields);
  frame.u32(static_cast<uint32_t>(reader.options.size()));
  for (const auto& [name, value] : reader.options) frame.text(name).text(value);
  return out;
}

}  // namespace

std::unique_ptr<Carriage> carry_to_process(const IsolatedReader& reader, Isolation isolation) {
  ReaderProcess::Plan plan;
  plan.reader = reader.manifest.name;
  plan.start_frame = start_frame(reader, isolation);
  plan.max_record_bytes = reader.max_record_bytes;
  plan.isolation = std::move(isolation);
  return std::make_unique<ProcessCarriage>(std::move(plan));
}

}  // namespace girdle::reading
