#include "vet/session.h"

#include <algorithm>
#include <cstring>
#include <set>
#include <type_traits>

#include "base/text.h"

namespace girdle::vet {
namespace {

// As girdled holds its readers to: what is held back, and how large texts may be beside the bytes
// that they come from.
constexpr uint64_t kHeldRecords = 8;
constexpr uint64_t kMaxGrowth = 8;
constexpr uint64_t kMostTexts = 64 << 10;  // besides, of one record or state
constexpr size_t kMostReason = 500;        // girdled cuts what is longer

constexpr unsigned char kFiller = 0xA5;  // no byte of UTF-8, and no NUL

// Who is being called on this thread: a reader may hand back any pointer as its host.
thread_local Session* in_call = nullptr;

std::string number(uint64_t value) { return std::to_string(value); }

std::string bytes_at(uint64_t offset, uint64_t length) {
  return "bytes " + number(offset) + " to " + number(offset + length);
}

bool is_one_line(std::string_view text) { return text.find_first_of("\r\n") == text.npos; }

uint64_t whole_blocks(uint64_t size) { return (size + 15) / 16 * 16; }

}  // namespace

// Runs a function of the reader, and lets no exception of it through: the result is then 0.
template <class Function>
auto Session::call(Call which, Function function) {
  using Answer = std::invoke_result_t<Function>;
  const InCall now(trial_, which);
  Session* const outer = std::exchange(in_call, this);
  try {
    if constexpr (std::is_void_v<Answer>) {
      function();
      in_call = outer;
    } else {
      const Answer answer = function();
      in_call = outer;
      return answer;
    }
  } catch (...) {
    in_call = outer;
    threw_ = true;
    breach("exception", "lets an exception out",
           "catch everything; in C++ girdle::kit::describe does, and gives GIRDLE_FAILED");
    if constexpr (!std::is_void_v<Answer>) return Answer{};
  }
}

Session::Session(Trial& trial, const Loaded& loaded, Terms terms, std::string_view resume)
    : trial_(trial),
      descriptor_(*loaded.descriptor),
      terms_(std::move(terms)),
      setup_memory_(trial.shared()),
      fed_memory_{LentMemory(trial.shared()), LentMemory(trial.shared()),
                  LentMemory(trial.shared())} {
  host_.known = {.size = sizeof(girdle_reader_host),
                 .abi = GIRDLE_READER_ABI,
                 .context = this,
                 .emit = &Session::on_emit,
                 .aside = &Session::on_aside,
                 .refuse = &Session::on_refuse,
                 .extension = &Session::on_extension};
  host_.more.fill(kFiller);
  if (terms_.newer_host) host_.known.size += static_cast<uint32_t>(host_.more.size());
  create(resume);
}

Session::~Session() {
  phase_ = Phase::kOther;
  if (reader_) call(Call::kDestroy, [&] { descriptor_.destroy(reader_); });
}

// In memory that is taken back: texts stand between bytes that are no NUL and no UTF-8.
void Session::create(std::string_view resume) {
  const size_t setup_size = whole_blocks(sizeof(Longer<girdle_reader_setup>));
  const size_t options_size = whole_blocks(terms_.options.size() * sizeof(girdle_option));
  size_t size = setup_size + options_size + resume.size() + 16;
  for (const auto& [name, value] : terms_.options) size += name.size() + value.size() + 2;
  char* const memory =
      setup_memory_.lend(std::string(whole_blocks(size), static_cast<char>(kFiller)));

  char* at = memory + setup_size + options_size;
  const auto put = [&](std::string_view text) {
    const girdle_text lent{at, text.size()};
    at = std::copy(text.begin(), text.end(), at) + 1;
    return lent;
  };
  auto* const options = reinterpret_cast<girdle_option*>(memory + setup_size);
  for (size_t i = 0; i < terms_.options.size(); ++i)
    options[i] = {put(terms_.options[i].first), put(terms_.options[i].second)};
  auto* const setup = reinterpret_cast<girdle_reader_setup*>(memory);
  *setup = {.size = sizeof(girdle_reader_setup),
            .reserved = 0,
            .max_record_bytes = terms_.max_record_bytes,
            .max_fields = terms_.max_fields,
            .option_count = terms_.options.size(),
            .options = options,
            .resume = put(resume)};
  if (terms_.newer_host) setup->size = sizeof(Longer<girdle_reader_setup>);

  reader_ = call(Call::kCreate, [&] { return descriptor_.create(&host_.known, setup); });
  setup_memory_.take_back();
  phase_ = Phase::kOther;
  if (!reader_ && refusals_ == 0 && !threw_)
    breach("create.silent", "gives no reader, and does not say why",
           "call refuse with the reason, then return NULL");
  if (reader_ && refusals_ > 0)
    breach("create.both", "refuses and gives a reader all the same", "return NULL after refuse");
}

bool Session::feed(std::string_view bytes) {
  LentMemory& memory = fed_memory_[feeds_++ % fed_memory_.size()];
  const char* const lent = memory.lend(bytes);
  fed_ += bytes.size();
  phase_ = Phase::kFeeding;
  const girdle_status status =
      call(Call::kFeed, [&] { return descriptor_.feed(reader_, lent, bytes.size()); });
  memory.take_back();
  return after_call(status, false);
}

bool Session::feed_nothing() {
  phase_ = Phase::kFeeding;
  const girdle_status status =
      call(Call::kFeed, [&] { return descriptor_.feed(reader_, nullptr, 0); });
  return after_call(status, false);
}

bool Session::finish() {
  phase_ = Phase::kFeeding;
  const girdle_status status = call(Call::kFinish, [&] { return descriptor_.finish(reader_); });
  return after_call(status, true);
}

bool Session::after_call(girdle_status status, bool finished) {
  phase_ = Phase::kOther;
  status_ = threw_ ? GIRDLE_FAILED : stopped_ ? GIRDLE_STOP : status;
  if (threw_) return false;
  if (stopped_ && status != GIRDLE_STOP) {
    breach("status.after-stop", "returns " + std::to_string(status) + " after the host said stop",
           "return GIRDLE_STOP from feed or finish at once");
  } else if (!stopped_ && status == GIRDLE_STOP) {
    breach("status.unasked-stop", "returns GIRDLE_STOP though the host did not say stop",
           "return GIRDLE_OK, or GIRDLE_FAILED where the reader itself cannot go on");
  } else if (status == GIRDLE_FAILED) {
    breach("status.failed", "gives up (GIRDLE_FAILED), and the whole document with it",
           "set aside what cannot be read, and go on behind it");
  } else if (status != GIRDLE_OK && status != GIRDLE_STOP) {
    breach("status.unknown", "returns " + std::to_string(status),
           "feed and finish return GIRDLE_OK, GIRDLE_STOP or GIRDLE_FAILED");
  }
  if (status_ != GIRDLE_OK) return false;
  ask_consumed(finished);
  return !threw_;
}

void Session::ask_consumed(bool finished) {
  const uint64_t now = call(Call::kConsumed, [&] { return descriptor_.consumed(reader_); });
  if (threw_) return;
  const std::string said = "says that " + number(now) + " bytes are done with";
  if (now > fed_) {
    breach("consumed.beyond", said + ", of " + number(fed_) + " fed",
           "consumed counts from the first byte fed to this reader");
  } else if (now < consumed_) {
    breach("consumed.back", said + ", after " + number(consumed_), "consumed never goes back");
  } else if (now < told_) {
    breach("consumed.behind", said + ", after it told of bytes up to " + number(told_),
           "what lies in a record or an aside is done with; else it comes again after a resume");
  } else if (finished && now != fed_) {
    breach("consumed.finish", said + " after finish, of " + number(fed_),
           "after finish all is: emit the last record, or set aside what is cut off");
  } else if (fed_ - now > kHeldRecords * terms_.max_record_bytes) {
    breach("consumed.held",
           "holds back " + number(fed_ - now) + " bytes; max_record_bytes is " +
               number(terms_.max_record_bytes),
           "set a stretch that is too long aside in pieces, while it comes");
  }
  consumed_ = std::min(std::max(now, consumed_), fed_);
}

std::string Session::save() {
  girdle_text state{};
  const girdle_status status = call(Call::kSave, [&] { return descriptor_.save(reader_, &state); });
  if (threw_) return {};
  if (status != GIRDLE_OK) {
    breach("save.failed", "save returns " + std::to_string(status),
           "save returns GIRDLE_OK; GIRDLE_FAILED only where there is no memory");
    return {};
  }
  if ((!state.data && state.size > 0) ||
      state.size > (1 << 20) + kMaxGrowth * terms_.max_record_bytes) {
    breach("save.text",
           "save gives a state of " + number(state.size) + " bytes" +
               (state.data ? "" : " without them"),
           "lend the bytes; a state is bounded as all that a reader holds");
    return {};
  }
  const InCall reads(trial_, Call::kText);
  return std::string(view(state));
}

// ---- what the reader calls

Session* Session::of(const girdle_reader_host* host, const char* function) {
  Session* const session = in_call ? in_call : static_cast<Session*>(host->context);
  const std::string calls = std::string("calls ") + function;
  if (!in_call)
    session->breach("call.thread", calls + " from a thread of its own",
                    "a reader starts no threads; the host is called inside its calls");
  if (host != &session->host_.known)
    session->breach("call.host", calls + " with another host than create was given",
                    "hand on the pointer that create was given; it is good until destroy returns");
  return session;
}

girdle_status Session::on_emit(const girdle_reader_host* host, const girdle_record* record) {
  return of(host, "emit")->take(record);
}

girdle_status Session::on_aside(const girdle_reader_host* host, const girdle_aside* aside) {
  return of(host, "aside")->take(aside);
}

void Session::on_refuse(const girdle_reader_host* host, girdle_text reason) {
  Session& session = *of(host, "refuse");
  if (session.phase_ != Phase::kCreating)
    session.breach("refuse.outside", "calls refuse outside create", "use aside for what is read");
  if (++session.refusals_ > 1)
    session.breach("refuse.again", "calls refuse twice", "refuse once, then return NULL");
  if (session.look_at_reason(reason, "refuse.reason", "refuses with"))
    session.refusal_ = view(reason);
}

const void* Session::on_extension(const girdle_reader_host*, const char*) { return nullptr; }

bool Session::may_call(const char* function) {
  if (phase_ != Phase::kFeeding) {
    breach("call.outside", std::string("calls ") + function + " outside feed and finish",
           "records and asides are told inside feed and finish only");
    return false;
  }
  if (stopped_) {
    breach("call.after-stop", std::string("calls ") + function + " after the host said stop",
           "return GIRDLE_STOP from feed or finish at once, and call the host no more");
  }
  return !stopped_;
}

girdle_status Session::answer() {
  if (++events_ < terms_.stop_after) return GIRDLE_OK;
  stopped_ = true;
  return terms_.stop_with;
}

girdle_status Session::take(const girdle_record* record) {
  if (!may_call("emit")) return GIRDLE_STOP;
  if (!record || record->size < sizeof(girdle_record)) {
    breach("record.size",
           record ? "gives a record whose size is " + number(record->size)
                  : "gives no record, but a null pointer",
           "point to a girdle_record whose size is sizeof(girdle_record)");
    return answer();
  }
  ++records_;
  if (record->length == 0)
    breach("record.empty", "gives a record of 0 bytes at " + number(record->offset),
           "a record has the bytes that it was made of");
  look_at_place(false, record->offset, record->length);
  look_at_line(record->line);
  if (!is_sound(*record)) return answer();
  {
    const InCall reads(trial_, Call::kText);
    look_at_names(*record);
    look_at_layout(*record);
    if (terms_.keep) heard_.push_back(event_of(*record));
  }
  return answer();
}

girdle_status Session::take(const girdle_aside* aside) {
  if (!may_call("aside")) return GIRDLE_STOP;
  if (!aside || aside->size < sizeof(girdle_aside)) {
    breach("aside.size",
           aside ? "gives an aside whose size is " + number(aside->size)
                 : "gives no aside, but a null pointer",
           "point to a girdle_aside whose size is sizeof(girdle_aside)");
    return answer();
  }
  if (aside->reserved != 0)
    breach("aside.reserved", "gives an aside whose member reserved is not 0", "set it to 0");
  if (aside->length == 0 && aside->offset == told_ && nothing_told_) {
    breach("aside.again", "tells of no bytes at " + number(told_) + " again and again",
           "one aside without bytes says what is missing at a place");
    stopped_ = true;  // or it would never end
    return GIRDLE_STOP;
  }
  look_at_place(true, aside->offset, aside->length);
  nothing_told_ = aside->length == 0;
  look_at_line(aside->line);
  if (look_at_reason(aside->reason, "aside.reason", "sets aside with") && terms_.keep)
    heard_.push_back(event_of(*aside));
  return answer();
}

// ---- what is wrong with it

void Session::look_at_place(bool aside, uint64_t offset, uint64_t length) {
  const std::string kind = aside ? "aside" : "record";
  const std::string gives = "tells of " + kind + " at ";
  if (length > terms_.max_record_bytes) {
    breach(kind + ".too-long",
           gives + number(offset) + " of " + number(length) + " bytes; max_record_bytes is " +
               number(terms_.max_record_bytes),
           "set a longer stretch aside in pieces of max_record_bytes");
  }
  if (offset > fed_ || length > fed_ - offset) {
    breach(
        kind + ".beyond",
        gives + number(offset) + " of " + number(length) + " bytes; " + number(fed_) + " were fed",
        "offset counts from the first byte fed to this reader; length is of the record alone");
    return;
  }
  if (offset < told_) {
    breach(kind + ".order",
           gives + bytes_at(offset, length) + " after it told of bytes up to " + number(told_),
           "records and asides come in the order of their offsets and do not overlap");
  }
  nothing_told_ = false;
  told_ = std::max(told_, offset + length);
}

void Session::look_at_line(uint64_t line) {
  if (line == 0 || terms_.damaged) return;
  if (line < line_)
    breach("line.back", "goes back from line " + number(line_) + " to line " + number(line),
           "line is where the record begins, 1 for the document's first, also after a resume");
  line_ = std::max(line_, line);
}

bool Session::are_sound(const girdle_text* texts, size_t count, const char* of) {
  uint64_t all = 0;
  for (size_t i = 0; i < count; ++i) {
    if (!texts[i].data && texts[i].size > 0) {
      breach("text.null", std::string("gives ") + of + " without its bytes",
             "point to the bytes; only an empty text may have a null pointer");
      return false;
    }
    const uint64_t most = kMostTexts + kMaxGrowth * terms_.max_record_bytes;
    if (texts[i].size > most || (all += texts[i].size) > most) {
      breach("text.flood", std::string("gives ") + of + " of " + number(texts[i].size) + " bytes",
             "a text is of the record's own bytes, decoded; its size is in bytes");
      return false;
    }
  }
  return true;
}

bool Session::is_sound(const girdle_record& record) {
  if (record.count > terms_.max_fields) {
    breach("record.fields",
           "gives a record of " + number(record.count) + " fields; max_fields is " +
               number(terms_.max_fields),
           "set a record with more fields aside");
    if (record.count > 100'000) return false;
  }
  if (record.count > 0 && (!record.names || !record.values)) {
    breach("record.null", "gives a record without its names or values",
           "names and values are two arrays of count texts");
    return false;
  }
  const InCall reads(trial_, Call::kText);
  return are_sound(record.names, record.count, "a name") &&
         are_sound(record.values, record.count, "a value");
}

void Session::look_at_names(const girdle_record& record) {
  std::set<std::string_view> names;
  for (size_t i = 0; i < record.count; ++i) {
    const std::string_view name = view(record.names[i]), value = view(record.values[i]);
    if (!names.insert(name).second)
      breach("record.twice", "gives the name \"" + base::excerpt(name) + "\" twice in one record",
             "no name comes twice; set such a record aside");
    if (!terms_.damaged && !base::is_utf8(name))
      breach("text.utf8", "gives a name that is not UTF-8: " + base::excerpt(name),
             "names are UTF-8; set bytes aside that are not of the encoding");
    if (!terms_.damaged && !base::is_utf8(value))
      breach("text.utf8",
             "gives a value of \"" + base::excerpt(name) +
                 "\" that is not UTF-8: " + base::excerpt(value),
             "decode the text, or set the record aside where its bytes are not of the encoding");
  }
}

void Session::look_at_layout(const girdle_record& record) {
  if (record.layout == 0) return;
  std::string names;
  for (size_t i = 0; i < record.count; ++i) {
    names += number(record.names[i].size) + ':';
    names += view(record.names[i]);
  }
  const auto [known, first] = layouts_.try_emplace(record.layout, names);
  if (!first && known->second != names)
    breach("record.layout", "gives layout " + number(record.layout) + " to records of other names",
           "one number for one list of names in one order, or 0");
}

bool Session::look_at_reason(const girdle_text& reason, const char* rule, const char* of) {
  if (!are_sound(&reason, 1, "a reason")) return false;
  if (terms_.damaged) return true;
  const InCall reads(trial_, Call::kText);
  const std::string_view text = view(reason);
  const char* const right =
      "a reason is one line for a shop's administrator: what is wrong, what "
      "would be right";
  if (text.empty()) breach(rule, std::string(of) + " no reason", right);
  if (!base::is_utf8(text) || !is_one_line(text))
    breach(rule,
           std::string(of) + " a reason that is not one line of UTF-8: " + base::excerpt(text),
           right);
  if (text.size() > kMostReason)
    breach(rule,
           std::string(of) + " a reason of " + number(text.size()) + " bytes; after " +
               number(kMostReason) + " it is cut",
           right);
  return true;
}

}  // namespace girdle::vet
