#include "json/json_reader.h"

#include <algorithm>
#include <cstring>
#include <utility>

#include "json/json_pointer.h"
#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::json {

namespace {

constexpr uint64_t kStateVersion = 2;
constexpr size_t kMaxTokens = 32;
constexpr std::string_view kMark = "\xEF\xBB\xBF";

std::string too_long(uint64_t limit) {
  return "a value longer than " + std::to_string(limit) + " bytes";
}

uint64_t line_ends(std::string_view bytes) {
  uint64_t count = 0;  // mostly none: so looking for the next is quicker than counting all
  for (size_t at = bytes.find('\n'); at != std::string_view::npos; at = bytes.find('\n', at + 1))
    ++count;
  return count;
}

std::string_view without_space(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

const char* end_of(std::string_view text) { return text.data() + text.size(); }

}  // namespace

std::optional<JsonReader::Options> JsonReader::options(const girdle_reader_setup& setup,
                                                       std::string& refusal) {
  const std::string_view shape = kit::option(setup, "shape");
  const std::string_view records = kit::option(setup, "records");
  Options options;
  if (shape == "object") options.shape = Shape::kObject;
  if (shape == "array") options.shape = Shape::kArray;
  if (shape == "lines") options.shape = Shape::kLines;
  if (options.shape == Shape::kAuto && !shape.empty() && shape != "auto") {
    refusal = "shape: must be auto, object, array or lines";
    return std::nullopt;
  }
  std::optional<std::vector<std::string>> tokens = pointer_tokens(records);
  if (!tokens || tokens->size() > kMaxTokens) {
    refusal = "records: must be a JSON Pointer of at most 32 names, as in /data/results";
    return std::nullopt;
  }
  if (!tokens->empty() && options.shape == Shape::kLines) {
    refusal = "records: has no meaning with shape: lines, where each line is a record";
    return std::nullopt;
  }
  const std::string_view context = kit::option(setup, "context");
  std::optional<std::vector<ContextWay>> ways = context_ways(context, refusal);
  if (!ways) return std::nullopt;
  if (!ways->empty() && tokens->empty()) {
    refusal = "context: has no meaning without records, which say what it is that goes with them";
    return std::nullopt;
  }
  options.records = std::move(*tokens);
  options.context = std::move(*ways);
  options.fingerprint =
      kit::Fingerprint().add(shape.empty() ? "auto" : shape).add(records).add(context).value();
  return options;
}

Envelope::Root JsonReader::root(const Options& options) {
  if (options.shape == Shape::kObject) return Envelope::Root::kObject;
  if (options.shape == Shape::kArray) return Envelope::Root::kArray;
  return Envelope::Root::kAny;
}

std::unique_ptr<JsonReader> JsonReader::create(const girdle_reader_host& host,
                                               const girdle_reader_setup& setup,
                                               std::string& refusal) {
  return kit::Maker::make<JsonReader>(host, setup, refusal, &JsonReader::options);
}

JsonReader::JsonReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                       Options options)
    : out_(host, std::min(setup.max_record_bytes, kit::kMostRecordBytes)),
      options_(std::move(options)),
      checker_(out_.limit()),
      fields_(setup.max_fields),
      context_fields_(setup.max_fields),
      context_(options_.context, out_.limit()),
      envelope_(options_.records, root(options_)) {}

girdle_status JsonReader::feed(std::string_view bytes) {
  fed_ += bytes.size();
  take(bytes);
  set_rest_aside(false);
  return out_.status();
}

girdle_status JsonReader::finish() {
  if (mode_ == Mode::kMark) byte_order_mark({}, true);
  if (mode_ == Mode::kFirst && !kept_.empty()) tell_shape();
  if (mode_ == Mode::kFirst) {
    out_.aside(fed_, 0, line_, "an empty document");
  } else if (mode_ == Mode::kLines) {
    whole_line(kept_, end_of(kept_));
  } else if (mode_ == Mode::kLongLine && piece_ > 0) {
    piece_aside();
  }
  if (mode_ == Mode::kValue || mode_ == Mode::kLongValue) finish_value();
  if (mode_ == Mode::kEnvelope) finish_envelope();
  set_rest_aside(true);
  begin_ = fed_;
  return out_.status();
}

void JsonReader::finish_value() {
  if (!scanner_.place().is_scalar) {
    static constexpr std::string_view kReason = "the document ends inside a value";
    if (begin_ == fed_) out_.aside(fed_, 0, line_, kReason);
    break_off(kReason);
  } else if (mode_ == Mode::kLongValue) {
    long_value_ended();
  } else {
    value_ended(kept_, end_of(kept_));
  }
}

void JsonReader::finish_envelope() {
  if (!envelope_.begun()) {
    out_.aside(fed_, 0, line_, "an empty document");
  } else if (!envelope_.ended()) {
    out_.aside(fed_, 0, line_, "the document ends before its JSON does");
  } else if (!envelope_.found()) {
    out_.aside(fed_, 0, line_, "nothing is where the option records says");
  }
}

JsonReader::Mode JsonReader::first_mode() const {
  if (options_.shape == Shape::kLines) return Mode::kLines;
  if (options_.shape == Shape::kAuto && options_.records.empty()) return Mode::kFirst;
  return Mode::kEnvelope;
}

void JsonReader::take(std::string_view bytes) {
  while (!bytes.empty() && !out_.stopped()) {
    switch (mode_) {
      case Mode::kMark:
        bytes = byte_order_mark(bytes, false);
        break;
      case Mode::kFirst:
        bytes = first_line(bytes);
        break;
      case Mode::kLines:
        bytes = line(bytes);
        break;
      case Mode::kLongLine:
        bytes = long_line(bytes);
        break;
      case Mode::kEnvelope:
        bytes = structure(bytes);
        break;
      case Mode::kValue:
        bytes = in_value(bytes);
        break;
      case Mode::kLongValue:
        bytes = in_long_value(bytes);
        break;
      case Mode::kRest:
        return;
    }
  }
}

// Reads what was kept to make up our mind, in the mode that came of it.
void JsonReader::replay() {
  const std::string head = std::exchange(kept_, {});
  take(head);
}

std::string_view JsonReader::byte_order_mark(std::string_view bytes, bool whole) {
  const size_t wanted = std::min(bytes.size(), kMark.size() - kept_.size());
  kept_.append(bytes.substr(0, wanted));
  bytes.remove_prefix(wanted);
  if (kept_ == kMark) {
    begin_ = kMark.size();
    kept_.clear();
  } else if (!whole && kMark.starts_with(kept_)) {
    return bytes;
  }
  mode_ = first_mode();
  replay();
  return bytes;
}

std::string_view JsonReader::first_line(std::string_view bytes) {
  if (kept_.empty()) {
    const auto* first = std::find_if_not(bytes.begin(), bytes.end(), is_space);
    const auto space = static_cast<size_t>(first - bytes.begin());
    pass(bytes.substr(0, space));
    bytes.remove_prefix(space);
    if (bytes.empty()) return bytes;
    if (bytes[0] != '{') {
      mode_ = bytes[0] == '[' ? Mode::kEnvelope : Mode::kLines;
      return bytes;
    }
  }
  const size_t end = bytes.find('\n');
  const size_t size = end == std::string_view::npos ? bytes.size() : end + 1;
  if (kept_.size() + size > out_.limit()) {
    mode_ = Mode::kLines;
    replay();
    return bytes;
  }
  kept_.append(bytes.substr(0, size));
  if (end != std::string_view::npos) tell_shape();
  return bytes.substr(size);
}

// An object that ends on the line on which it begins is the first of lines (or alone); another goes
// over many lines.
void JsonReader::tell_shape() {
  ValueScanner scanner;
  scanner.begin(kept_[0]);
  scanner.advance(kept_.data(), kept_.size());
  mode_ = scanner.ended() ? Mode::kLines : Mode::kEnvelope;
  replay();
}

std::string_view JsonReader::line(std::string_view bytes) {
  const size_t room = out_.limit() - kept_.size();
  const size_t window = std::min(bytes.size(), room + 1);
  const auto* end = static_cast<const char*>(std::memchr(bytes.data(), '\n', window));
  if (end == nullptr) {
    const size_t size = std::min(bytes.size(), room);
    if (bytes.size() > room) {
      begin_long(Mode::kLongLine);
    } else {
      kept_.append(bytes);
    }
    return bytes.substr(size);
  }
  const auto size = static_cast<size_t>(end - bytes.data());
  if (kept_.empty()) {
    whole_line(bytes.substr(0, size), end_of(bytes));
  } else {
    kept_.append(bytes.substr(0, size));
    whole_line(kept_, end_of(kept_));
    begin_ += kept_.size() - size;
    kept_.clear();
  }
  begin_ += size + 1;
  ++line_;
  return bytes.substr(size + 1);
}

void JsonReader::whole_line(std::string_view text, const char* readable_end) {
  const std::string_view value = without_space(text);
  if (value.empty()) return;
  record(begin_ + static_cast<uint64_t>(value.data() - text.data()), value, readable_end);
}

std::string_view JsonReader::long_line(std::string_view bytes) {
  if (piece_ == out_.limit() && bytes[0] != '\n') piece_aside();
  const size_t window =
      std::min<uint64_t>(bytes.size(), std::max<uint64_t>(out_.limit() - piece_, 1));
  const auto* end = static_cast<const char*>(std::memchr(bytes.data(), '\n', window));
  if (end == nullptr) {
    piece_ += window;
    return bytes.substr(window);
  }
  const auto size = static_cast<size_t>(end - bytes.data());
  piece_ += size;
  if (piece_ > 0) piece_aside();
  ++begin_;
  ++line_;
  mode_ = Mode::kLines;
  return bytes.substr(size + 1);
}

std::string_view JsonReader::structure(std::string_view bytes) {
  while (!bytes.empty()) {
    const char c = bytes[0];
    if (is_space(c)) {
      pass(bytes.substr(0, 1));
      bytes.remove_prefix(1);
      continue;
    }
    switch (envelope_.step(c)) {
      case Envelope::Step::kStructure:
        if (c == '}') context_.leave(envelope_.objects());
        if (c != ':') member_.clear();
        ++begin_;
        bytes.remove_prefix(1);
        continue;
      case Envelope::Step::kFault:
        break_off(envelope_.fault());
        return bytes;
      case Envelope::Step::kRecord:
        role_ = Role::kRecord;
        break;
      case Envelope::Step::kPassOver:
        role_ = Role::kPassedOver;
        break;
      case Envelope::Step::kName:
        role_ = Role::kName;
        break;
    }
    scanner_.begin(c);
    kept_.clear();
    mode_ = Mode::kValue;
    return bytes;
  }
  return bytes;
}

// Nothing more of the value at hand may be kept: whether it goes on all the same.
bool JsonReader::at_limit(std::string_view bytes) {
  return !scanner_.place().is_scalar || !ends_scalar(bytes[0]);
}

std::string_view JsonReader::in_value(std::string_view bytes) {
  const size_t room = out_.limit() - kept_.size();
  if (room == 0 && at_limit(bytes)) {
    begin_long(Mode::kLongValue);
    return bytes;
  }
  const size_t used =
      scanner_.advance(bytes.data(), std::min(bytes.size(), std::max<size_t>(room, 1)));
  if (!scanner_.ended()) {
    kept_.append(bytes.substr(0, used));
  } else if (kept_.empty()) {
    value_ended(bytes.substr(0, used), end_of(bytes));
  } else {
    kept_.append(bytes.substr(0, used));
    value_ended(kept_, end_of(kept_));
  }
  return bytes.substr(used);
}

void JsonReader::value_ended(std::string_view value, const char* readable_end) {
  switch (role_) {
    case Role::kRecord:
      record(begin_, value, readable_end);
      break;
    case Role::kPassedOver:
      if (const auto fault = checker_.check(value, readable_end).fault) {
        break_off(*fault);
        return;
      }
      if (!member_.empty()) keep_context(value);
      break;
    case Role::kName:
      if (!name(value, readable_end)) return;
      break;
  }
  pass(value);
  if (role_ != Role::kName) envelope_.value_ended();
  mode_ = Mode::kEnvelope;
}

bool JsonReader::name(std::string_view text, const char* readable_end) {
  if (const auto fault = checker_.check(text, readable_end).fault) {
    break_off(*fault);
    return false;
  }
  if (const auto string = checker_.string(); !string || !envelope_.named(*string)) {
    break_off("a name that leads to the records comes twice in one object");
    return false;
  } else if (context_.wants(*string)) {
    member_ = *string;
    if (context_.is_first(envelope_.objects() - 1, member_)) return true;
    break_off("a name in the option context comes twice in one object");
    return false;
  }
  return true;
}

// The value belongs to a member that the records are to have.
void JsonReader::keep_context(std::string_view value) {
  const size_t level = envelope_.objects() - 1;
  const std::string member = std::exchange(member_, {});
  if (const auto way = context_.comes_late(level, member)) {
    out_.aside(begin_, value.size(), line_,
               "\"" + *way +
                   "\" comes after the records, which were read without it; it must come "
                   "before them");
    return;
  }
  const std::string readable = std::string(value) + std::string(kReadableAfter, ' ');
  const std::string_view text = std::string_view(readable).substr(0, value.size());
  if (const auto fault = context_fields_.read_member(member, text)) {
    out_.aside(begin_, value.size(), line_, *fault);
  } else if (!context_.keep(level, member, context_fields_)) {
    out_.aside(begin_, value.size(), line_,
               "what the option context asks for is together " + too_long(out_.limit()));
  }
}

// What is kept has come to the limit. A name that long leads nowhere; of a value, the part that is
// there is set aside unless it is passed over.
void JsonReader::begin_long(Mode mode) {
  if (mode == Mode::kLongValue && role_ == Role::kName) {
    break_off("a name longer than " + std::to_string(out_.limit()) + " bytes");
    return;
  }
  if (mode == Mode::kLongLine) role_ = Role::kRecord;
  mode_ = mode;
  piece_ = out_.limit();
  piece_lines_ = line_ends(kept_);
  kept_.clear();
  piece_aside();
}

// The piece at hand of a long line or value is done with.
void JsonReader::piece_aside() {
  if (role_ == Role::kRecord) out_.aside(begin_, piece_, line_, too_long(out_.limit()));
  begin_ += piece_;
  line_ += piece_lines_;
  piece_ = piece_lines_ = 0;
  place_ = scanner_.place();
}

std::string_view JsonReader::in_long_value(std::string_view bytes) {
  if (piece_ == out_.limit() && at_limit(bytes)) piece_aside();
  const uint64_t room = std::max<uint64_t>(out_.limit() - piece_, 1);
  const size_t used = scanner_.advance(bytes.data(), std::min<uint64_t>(bytes.size(), room));
  piece_ += used;
  piece_lines_ += line_ends(bytes.substr(0, used));
  if (scanner_.ended()) long_value_ended();
  return bytes.substr(used);
}

void JsonReader::long_value_ended() {
  if (piece_ > 0) piece_aside();
  envelope_.value_ended();
  mode_ = Mode::kEnvelope;
}

void JsonReader::record(uint64_t offset, std::string_view text, const char* readable_end) {
  const ValueChecker::Checked checked = checker_.check(text, readable_end);
  if (checked.fault) {
    out_.aside(offset, text.size(), line_, *checked.fault);
  } else if (text[0] != '{') {
    out_.aside(offset, text.size(), line_,
               "not an object; a record is an object with named fields");
  } else if (const auto fault = read_fields(checked.text)) {
    out_.aside(offset, text.size(), line_, *fault);
  } else {
    out_.emit({sizeof(girdle_record), fields_.layout(), offset, text.size(), line_,
               fields_.names().size(), fields_.names().data(), fields_.values().data()});
  }
}

std::optional<std::string> JsonReader::read_fields(std::string_view object) {
  if (options_.context.empty()) return fields_.read(object);
  const GivenFields& given = context_.at(envelope_.objects());
  if (context_.lacking() == nullptr) return fields_.read(object, given);
  const std::string way = context_.lacking()->text();
  return "there is no \"" + way +
         "\" before the record; it must stand before the records, unless the option context says "
         "\"" +
         way + "?\"";
}

void JsonReader::pass(std::string_view bytes) {
  begin_ += bytes.size();
  line_ += line_ends(bytes);
}

void JsonReader::break_off(std::string_view reason) {
  rest_reason_ = reason;
  mode_ = Mode::kRest;
}

// Whole pieces as they come, so that memory and a growing document's position do not wait for its
// end.
void JsonReader::set_rest_aside(bool whole) {
  if (mode_ != Mode::kRest) return;
  while (!out_.stopped() && begin_ < fed_) {
    const uint64_t length = std::min(fed_ - begin_, out_.limit());
    if (!whole && length < out_.limit()) return;
    out_.aside(begin_, length, line_, rest_reason_);
    begin_ += length;
    line_ = 0;
  }
}

std::string_view JsonReader::save() {
  if (begin_ == 0 && !resumed_) return {};
  const Mode mode = mode_ == Mode::kValue ? Mode::kEnvelope : mode_;
  kit::StateWriter state(state_, kStateVersion, options_.fingerprint);
  state.number(static_cast<uint64_t>(mode)).number(static_cast<uint64_t>(role_)).number(line_);
  state.number(place_.depth).number(place_.in_string).number(place_.escaped);
  state.number(place_.is_scalar).text(rest_reason_).text(member_);
  envelope_.save(state);
  context_.save(state);
  return state_;
}

bool JsonReader::resume(std::string_view bytes) {
  kit::StateParser state(bytes, kStateVersion, options_.fingerprint);
  mode_ = static_cast<Mode>(state.number(static_cast<uint64_t>(Mode::kRest)));
  role_ = static_cast<Role>(state.number(static_cast<uint64_t>(Role::kName)));
  line_ = state.number();
  place_.depth = state.number();
  place_.in_string = state.flag();
  place_.escaped = state.flag();
  place_.is_scalar = state.flag();
  rest_reason_ = state.text();
  member_ = state.text();
  envelope_.take_up(state);
  context_.take_up(state);
  scanner_.take_up(place_);
  resumed_ = true;
  if (!member_.empty() && envelope_.objects() == 0) return false;
  return state.done() && mode_ != Mode::kMark && mode_ != Mode::kValue;
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor =
      kit::describe<JsonReader>("json", "0.2.0");
  return kDescriptor;
}

}  // namespace girdle::json
