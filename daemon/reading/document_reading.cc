// The host's side of the reader ABI, for one document.
#include <girdle/reader.h>

#include <algorithm>
#include <exception>
#include <span>

#include "base/text.h"
#include "reading/blocking_wait.h"
#include "reading/fed_bytes.h"
#include "reading/lent_text.h"
#include "reading/loaded_reader.h"
#include "reading/reader.h"
#include "reading/wire.h"

namespace girdle::reading {
namespace {

constexpr size_t kMaxReason = 500;
// A reader may hold back bytes for a record at hand; contract: a small multiple of the largest
// record.
constexpr uint64_t kHeldRecords = 8;
// UTF-8 of a value is at most three times its bytes in any encoding that a reader may know; names
// come from elsewhere.
using wire::kMaxGrowth;

uint32_t line_of(uint64_t line) {
  return static_cast<uint32_t>(std::min<uint64_t>(line, UINT32_MAX));
}

// So many records of each kind there were.
struct Mark {
  explicit Mark(const model::Records& records)
      : readings(records.readings.size()),
        declarations(records.declarations.size()),
        scans(records.scans.size()),
        asides(records.asides.size()),
        ignored(records.ignored) {}

  void go_back(model::Records& records) const {
    records.readings.resize(readings);
    records.declarations.resize(declarations);
    records.scans.resize(scans);
    records.asides.resize(asides);
    records.ignored = ignored;
  }

  size_t readings, declarations, scans, asides;
  std::vector<model::Ignored> ignored;
};

}  // namespace

struct DocumentReading::State {
  std::shared_ptr<LoadedReader> loaded;
  girdle_reader_host host{};
  uint64_t document = 0;
  std::string refusal;

  FedBytes bytes;
  model::Records* out = nullptr;  // during a call
  std::optional<Mark> before;     // of `out`, when the call began
  bool only_saves = false;        // the call asks for the reader's state, and no more
  bool finishes = false;          // the document is whole after it
  uint64_t told = 0;              // end of the last record or aside
  bool empty_told = false;        // an aside without bytes at `told`
  uint64_t consumed = 0;
  uint32_t sound_layout = 0;  // its names were looked at
  std::string resume;
  std::string fault;
  std::string reason;  // scratch

  std::unique_ptr<Carrier> carrier;  // goes before what it was given

  uint64_t limit() const { return loaded->max_record_bytes; }

  static State& of(const girdle_reader_host* h) { return *static_cast<State*>(h->context); }
  static girdle_status on_emit(const girdle_reader_host* h, const girdle_record* record) noexcept;
  static girdle_status on_aside(const girdle_reader_host* h, const girdle_aside* aside) noexcept;
  static void on_refuse(const girdle_reader_host* h, girdle_text text) noexcept;
  static const void* on_extension(const girdle_reader_host*, const char*) noexcept {
    return nullptr;
  }

  girdle_status emit(const girdle_record* record);
  girdle_status put_aside(const girdle_aside* aside);
  bool takes_calls();
  bool place(uint64_t offset, uint64_t length);
  bool are_sound(std::span<const girdle_text> texts) const {
    const uint64_t longest = kMaxGrowth * limit();
    bool all = true;
    for (const girdle_text& text : texts) {
      all &= (text.data != nullptr) | (text.size == 0);
      all &= text.size <= longest;
    }
    return all;
  }
  bool sound(const girdle_record& record);
  bool breach(std::string_view what);

  std::string refusal_text() const;
  void begin_call(model::Records& records);
  void end_call();
  void take_answer();
  void set_aside(uint64_t offset, uint64_t length, uint32_t line, std::string why);
  void set_rest_aside();
};

// The reader broke its contract; always false. The first breach is the one that is told.
bool DocumentReading::State::breach(std::string_view what) {
  if (fault.empty()) {
    fault = "the reader " + loaded->name + " broke its contract: ";
    fault += what;
  }
  return false;
}

bool DocumentReading::State::takes_calls() {
  if (!fault.empty()) return false;
  return out != nullptr || breach("it tells of a record outside of feed and finish");
}

// Records and asides come in the order of the bytes, and lie within what was fed. Where they have
// no bytes, there is one at a place at most: so they are bounded by the bytes.
bool DocumentReading::State::place(uint64_t offset, uint64_t length) {
  if (offset < told || offset > bytes.end() || length > bytes.end() - offset) {
    return breach("it tells of bytes " + std::to_string(offset) + " to " +
                  std::to_string(offset + length) + ", after " + std::to_string(told) +
                  " were told of and " + std::to_string(bytes.end()) + " were fed");
  }
  if (length == 0 && offset == told && empty_told)
    return breach("it tells of nothing again and again");
  empty_told = length == 0;
  told = offset + length;
  return true;
}

// Names are looked at once for a layout, as the mapper does.
bool DocumentReading::State::sound(const girdle_record& record) {
  bool all = are_sound({record.values, record.count});
  if (record.layout == 0 || record.layout != sound_layout) {
    all = all && are_sound({record.names, record.count});
    sound_layout = record.layout;
  }
  return all || breach("it gives a text without its bytes, or one that is too long");
}

girdle_status DocumentReading::State::emit(const girdle_record* record) {
  if (!takes_calls()) return GIRDLE_STOP;
  if (!record || record->size < sizeof(girdle_record)) {
    breach("it gives a record of another size");
    return GIRDLE_STOP;
  }
  if (record->count > kMaxFields || (record->count > 0 && (!record->names || !record->values))) {
    breach("it gives a record of " + std::to_string(record->count) +
           " fields, or without its fields");
    return GIRDLE_STOP;
  }
  if (record->length == 0 || record->length > limit()) {
    breach("it gives a record of " + std::to_string(record->length) + " bytes; there are 1 to " +
           std::to_string(limit()));
    return GIRDLE_STOP;
  }
  if (!place(record->offset, record->length)) return GIRDLE_STOP;
  if (!sound(*record)) return GIRDLE_STOP;
  switch (loaded->mapper.apply(*record, document, *out, reason)) {
    case Mapper::Applied::kMade:
    case Mapper::Applied::kIgnored:
      break;
    case Mapper::Applied::kRefused:
      set_aside(record->offset, record->length, line_of(record->line), reason);
      break;
    case Mapper::Applied::kBreach:
      breach(reason);
      return GIRDLE_STOP;
  }
  return GIRDLE_OK;
}

girdle_status DocumentReading::State::put_aside(const girdle_aside* aside) {
  if (!takes_calls()) return GIRDLE_STOP;
  if (!aside || aside->size < sizeof(girdle_aside)) {
    breach("it gives an aside of another size");
    return GIRDLE_STOP;
  }
  if (!are_sound({&aside->reason, 1})) breach("it gives an aside without the bytes of its reason");
  if (!fault.empty() || !place(aside->offset, aside->length)) return GIRDLE_STOP;
  std::string why = base::excerpt(view(aside->reason), kMaxReason);
  set_aside(aside->offset, aside->length, line_of(aside->line),
            why.empty() ? "the reader gives no reason" : std::move(why));
  return GIRDLE_OK;
}

// No exception may pass through a reader: memory that is gone stops the document.
girdle_status DocumentReading::State::on_emit(const girdle_reader_host* h,
                                              const girdle_record* record) noexcept {
  State& state = of(h);
  try {
    return state.emit(record);
  } catch (const std::exception& failure) {
    if (state.fault.empty()) state.fault = failure.what();
    return GIRDLE_STOP;
  }
}

girdle_status DocumentReading::State::on_aside(const girdle_reader_host* h,
                                               const girdle_aside* aside) noexcept {
  State& state = of(h);
  try {
    return state.put_aside(aside);
  } catch (const std::exception& failure) {
    if (state.fault.empty()) state.fault = failure.what();
    return GIRDLE_STOP;
  }
}

void DocumentReading::State::on_refuse(const girdle_reader_host* h, girdle_text text) noexcept {
  const bool readable = text.size > 0 && text.data != nullptr && text.size < (1u << 20);
  if (readable) of(h).refusal = base::excerpt(view(text), kMaxReason);
}

void DocumentReading::State::set_aside(uint64_t offset, uint64_t length, uint32_t line,
                                       std::string why) {
  model::Aside aside;
  aside.place = {offset, length, line};
  aside.reason = std::move(why);
  aside.bytes = bytes.copy(offset, std::min(length, limit()));
  aside.truncated = aside.bytes.size() < length;
  out->asides.push_back(std::move(aside));
}

// All that was fed and is kept, in pieces of the record limit.
void DocumentReading::State::set_rest_aside() {
  for (uint64_t at = bytes.begin(); at < bytes.end();) {
    const uint64_t length = std::min(bytes.end() - at, limit());
    set_aside(at, length, 0, fault);
    at += length;
  }
  consumed = bytes.end();
  bytes.forget_until(consumed);
}

std::string DocumentReading::State::refusal_text() const {
  return "reader " + loaded->name + ": " +
         (refusal.empty() ? "it refuses to begin, without a reason" : refusal);
}

void DocumentReading::State::begin_call(model::Records& records) {
  out = &records;
  before.emplace(records);
}

// Where the reader failed in the call, the call counts as not made, and its bytes are set aside.
void DocumentReading::State::end_call() {
  if (fault.empty()) {
    if (carrier->refused()) {
      fault = refusal_text();
    } else {
      fault = carrier->failure();
    }
  }
  if (fault.empty()) take_answer();
  if (!fault.empty()) {
    carrier->give_up();
    before->go_back(*out);
    set_rest_aside();
  }
  bytes.keep();
  out = nullptr;
  before.reset();
}

void DocumentReading::State::take_answer() {
  const Carrier::Answer& answer = carrier->answer();
  if (answer.status != GIRDLE_OK) {
    fault =
        "the reader " + loaded->name + " gave up (status " + std::to_string(answer.status) + ")";
    return;
  }
  if (answer.saved == GIRDLE_OK && are_sound({&answer.state, 1})) resume = view(answer.state);
  if (only_saves) return;
  const uint64_t done = answer.consumed;
  if (done < consumed || done > bytes.end()) {
    breach("it says that " + std::to_string(done) + " bytes are done with, of " +
           std::to_string(bytes.end()));
    return;
  }
  if (bytes.end() - done > kHeldRecords * limit()) {
    breach("it holds back " + std::to_string(bytes.end() - done) + " bytes");
    return;
  }
  if (finishes && done != bytes.end()) {
    breach("it finishes with bytes that it did not tell of");
    return;
  }
  consumed = done;
  bytes.forget_until(done);
}

DocumentReading::DocumentReading(std::unique_ptr<State> state) : state_(std::move(state)) {}
DocumentReading::DocumentReading(DocumentReading&&) noexcept = default;
DocumentReading& DocumentReading::operator=(DocumentReading&&) noexcept = default;
DocumentReading::~DocumentReading() = default;

base::Result<DocumentReading> DocumentReading::create(std::shared_ptr<LoadedReader> loaded,
                                                      std::string_view resume) {
  auto state = std::make_unique<State>();
  state->loaded = std::move(loaded);
  state->document = ++state->loaded->documents;
  state->host = {.size = sizeof(girdle_reader_host),
                 .abi = GIRDLE_READER_ABI,
                 .context = state.get(),
                 .emit = &State::on_emit,
                 .aside = &State::on_aside,
                 .refuse = &State::on_refuse,
                 .extension = &State::on_extension};
  const girdle_reader_setup setup{.size = sizeof(girdle_reader_setup),
                                  .reserved = 0,
                                  .max_record_bytes = state->limit(),
                                  .max_fields = kMaxFields,
                                  .option_count = state->loaded->lent.size(),
                                  .options = state->loaded->lent.data(),
                                  .resume = {resume.data(), resume.size()}};
  state->carrier = state->loaded->carriage->begin(state->host, setup);
  if (!state->carrier) return base::input_error(state->refusal_text());
  if (!state->fault.empty()) return base::input_error(state->fault);
  return DocumentReading(std::move(state));
}

void DocumentReading::start_feed(std::string_view bytes, model::Records& out) {
  State& s = *state_;
  s.begin_call(out);
  s.bytes.take(bytes);
  if (s.fault.empty()) s.carrier->feed(bytes);
}

void DocumentReading::start_finish(bool whole, model::Records& out) {
  State& s = *state_;
  s.begin_call(out);
  s.finishes = whole;
  s.only_saves = !whole;
  if (s.fault.empty()) s.carrier->end(whole);
}

void DocumentReading::start_all(std::string_view bytes, bool whole, model::Records& out) {
  start_feed(bytes, out);
  State& s = *state_;
  s.finishes = whole;
  if (s.fault.empty()) s.carrier->end(whole);
}

std::optional<Wait> DocumentReading::step() {
  State& s = *state_;
  if (s.out == nullptr) return std::nullopt;
  if (s.fault.empty()) {
    if (auto wait = s.carrier->step()) return wait;
  }
  s.end_call();
  return std::nullopt;
}

void DocumentReading::answer_all() {
  State& s = *state_;
  while (const auto wait = step()) {
    // Whoever blocks has nothing better to do, but does not want to wait for ever.
    if (s.fault.empty()) s.fault = s.carrier->trouble();
    if (s.fault.empty()) block(*wait, s.loaded->stop);
    if (s.loaded->stop.stop_requested()) s.fault = "it was not waited for";
  }
}

void DocumentReading::feed(std::string_view bytes, model::Records& out) {
  start_feed(bytes, out);
  answer_all();
}

void DocumentReading::finish(bool whole, model::Records& out) {
  start_finish(whole, out);
  answer_all();
}

uint64_t DocumentReading::consumed() const { return state_->consumed; }
const std::string& DocumentReading::resume() const { return state_->resume; }
const std::string& DocumentReading::fault() const { return state_->fault; }
std::string DocumentReading::trouble() const { return state_->carrier->trouble(); }

}  // namespace girdle::reading
