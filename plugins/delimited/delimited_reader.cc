#include "delimited/delimited_reader.h"

#include <algorithm>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::delimited {

namespace {

constexpr uint64_t kStateVersion = 2;
constexpr uint64_t kLastEncoding = static_cast<uint64_t>(Encoding::kCodePage);

std::string_view quote_fault(RowFault fault) {
  switch (fault) {
    case RowFault::kNone:
      return {};
    case RowFault::kQuoteInField:
      return "a quote inside a field that is not quoted; quote the field and double the quote";
    case RowFault::kTextAfterQuote:
      return "text after the quote that closes a field; double a quote that belongs to the field";
    case RowFault::kUnclosedQuote:
      return "a quote is opened and never closed";
  }
  return {};
}

bool is_line_end(char c) { return c == '\n' || c == '\r'; }

std::string fields(uint64_t count) {
  return std::to_string(count) + (count == 1 ? " field" : " fields");
}

}  // namespace

std::unique_ptr<DelimitedReader> DelimitedReader::create(const girdle_reader_host& host,
                                                         const girdle_reader_setup& setup,
                                                         std::string& refusal) {
  return kit::Maker::make<DelimitedReader>(host, setup, refusal, &Dialect::from);
}

DelimitedReader::DelimitedReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                                 Dialect dialect)
    : out_(host, std::min(setup.max_record_bytes, RowScanner::kMaxRow)),
      dialect_(std::move(dialect)),
      delimiter_(dialect_.delimiter),
      fingerprint_(fingerprint(setup)),
      max_fields_(setup.max_fields),
      scanner_(delimiter_, dialect_.quote, max_fields_, dialect_.escape),
      source_(dialect_.page) {
  if (!dialect_.columns.empty()) set_columns(dialect_.columns);
}

girdle_status DelimitedReader::feed(std::string_view bytes) {
  fed_ += bytes.size();
  if (mode_ == Mode::kHead) {
    take_head(bytes, false);
  } else {
    take_source(bytes);
  }
  set_rest_aside(false);
  return out_.status();
}

girdle_status DelimitedReader::finish() {
  if (mode_ == Mode::kHead) take_head({}, true);
  source_.finish([this](std::string_view text) { take(text); });
  if (mode_ == Mode::kRow || mode_ == Mode::kLong) {
    row_bytes_ =
        std::min(row_bytes_, fed_ - begin_);  // half a unit of UTF-16 counted as a whole one
    if (first_line_ && passes_over(kept_)) {
      pass_over();
    } else {
      scanner_.end();
      row_ended({});
    }
  }
  if (searches()) no_header();
  if (mode_ == Mode::kRest) {
    set_rest_aside(true);
  } else if (wants_header()) {
    out_.aside(fed_, 0, line_, "no header row: the document holds no row at all");
  }
  begin_ = fed_;
  return out_.status();
}

void DelimitedReader::take_head(std::string_view bytes, bool whole) {
  const size_t wanted = std::min(bytes.size(), size_t{4} - head_.size());
  head_.append(bytes.substr(0, wanted));
  const ByteOrderMark mark = source_.mark(head_, whole);
  if (!mark.known) return;
  begin_text(mark);
  take_source(std::string_view(head_).substr(mark.size));
  take_source(bytes.substr(wanted));
}

void DelimitedReader::begin_text(const ByteOrderMark& mark) {
  source_.set(mark.size > 0 ? mark.encoding : dialect_.encoding);
  const bool unmarked = source_.encoding() == Encoding::kUtf16 && !head_.empty();
  if (unmarked || source_.encoding() == Encoding::kUtf32) {
    mode_ = Mode::kRest;
    rest_reason_ = unmarked ? RestReason::kNoByteOrderMark : RestReason::kUtf32;
    return;
  }
  begin_ = search_begin_ = mark.size;
  mode_ = Mode::kBetween;
}

void DelimitedReader::take_source(std::string_view bytes) {
  source_.decode(
      bytes, [this] { return !out_.stopped(); }, [this](std::string_view text) { take(text); });
}

void DelimitedReader::take(std::string_view text) {
  while (!text.empty() && !out_.stopped()) {
    switch (mode_) {
      case Mode::kBetween:
        text = before_row(text);
        break;
      case Mode::kComment:
        text = in_comment(text);
        break;
      case Mode::kRow:
      case Mode::kLong:
        text = in_row(text);
        break;
      case Mode::kRest:
        if (rest_reason_ == RestReason::kHeader && after_cr_ && text[0] == '\n')
          begin_ += source_.line_end_bytes();
        after_cr_ = false;
        return;
      case Mode::kHead:
        return;
    }
  }
}

std::string_view DelimitedReader::before_row(std::string_view text) {
  if (std::exchange(after_cr_, false) && text[0] == '\n') {
    begin_ += source_.line_end_bytes();
    return text.substr(1);
  }
  if (dialect_.comment == text[0]) {
    mode_ = Mode::kComment;
    return text;
  }
  scanner_.begin();
  kept_.clear();
  row_bytes_ = 0;
  first_line_ = searches() || !dialect_.ignored.none();
  mode_ = Mode::kRow;
  return text;
}

std::string_view DelimitedReader::in_comment(std::string_view text) {
  const size_t end = text.find_first_of("\r\n");
  const bool ended = end != std::string_view::npos;
  const size_t size = ended ? end + 1 : text.size();
  begin_ += source_.source_bytes(text.substr(0, size));
  if (ended) {
    ++line_;
    after_cr_ = text[end] == '\r';
    mode_ = Mode::kBetween;
  }
  check_search();
  return text.substr(size);
}

std::string_view DelimitedReader::in_row(std::string_view text) {
  if (first_line_ && is_line_end(text[0])) {
    first_line_ = false;
    if (passes_over(kept_)) {
      pass_over();
      after_cr_ = text[0] == '\r';
      return text.substr(1);
    }
  }
  size_t size = room(text);
  if (first_line_) size = std::min(size, text.find_first_of("\r\n"));
  if (size == 0) {
    const bool at_end = !scanner_.in_quotes() && is_line_end(text[0]);
    if (!at_end) {
      too_long();
      return text;
    }
    size = 1;
  }
  const uint32_t before = scanner_.size();
  const bool ended = scanner_.advance(text.data(), size);
  const std::string_view part = text.substr(0, ended ? scanner_.size() - before : size);
  row_bytes_ += source_.source_bytes(part);
  if (!ended) {
    if (mode_ == Mode::kRow) kept_.append(part);
    return text.substr(size);
  }
  const char line_end = text[part.size()];
  row_ended(part);
  after_cr_ = line_end == '\r';
  return text.substr(part.size() + 1);
}

// How much of `text` may still belong to the row, or to the piece of a long row, by the limit.
size_t DelimitedReader::room(std::string_view text) const {
  return source_.within(text, out_.limit() - row_bytes_);
}

void DelimitedReader::too_long() {
  if (searches()) {
    no_header();
    return;
  }
  first_line_ = false;
  out_.aside(begin_, row_bytes_, line_,
             "the row is longer than " + std::to_string(out_.limit()) + " bytes");
  begin_ += row_bytes_;
  row_bytes_ = 0;
  kept_.clear();
  place_ = scanner_.rebase();
  mode_ = wants_header() ? Mode::kRest : Mode::kLong;
}

// The row's last text is there; what came in feeds before it is kept.
void DelimitedReader::row_ended(std::string_view end_of_row) {
  if (mode_ == Mode::kLong) {
    if (row_bytes_ > 0) {
      out_.aside(begin_, row_bytes_, line_,
                 "the row is longer than " + std::to_string(out_.limit()) + " bytes");
    }
  } else if (kept_.empty()) {
    row(end_of_row);
  } else {
    kept_.append(end_of_row);
    row(kept_);
  }
  begin_ += row_bytes_ + source_.line_end_bytes();
  line_ += 1 + scanner_.line_ends();
  if (mode_ != Mode::kRest) mode_ = Mode::kBetween;
  check_search();
}

// Whether the line on which a row begins is none of it: it stands before the header, or is one of
// those to be ignored.
bool DelimitedReader::passes_over(std::string_view first_line) {
  if (searches()) {
    if (first_line.empty()) return false;
    if (std::exchange(first_row_, false) && separator_line(first_line)) return true;
    if (line_ < dialect_.header_line) return true;
    if (!dialect_.header_names.empty() && scanner_.in_quotes()) return true;
  }
  if (dialect_.ignored.none() || source_.fault(first_line)) return false;
  if (source_.upper_half() == nullptr) return dialect_.ignored.match(first_line);
  std::string text;
  append_decoded(first_line, *source_.upper_half(), text);
  return dialect_.ignored.match(text);
}

void DelimitedReader::pass_over() {
  begin_ += row_bytes_ + source_.line_end_bytes();
  ++line_;
  if (mode_ != Mode::kRest) mode_ = Mode::kBetween;
  check_search();
}

void DelimitedReader::row(std::string_view text) {
  if (text.empty()) return;
  if (std::exchange(first_row_, false) && separator_line(text)) return;
  if (wants_header()) {
    header_row(text);
    return;
  }
  if (const std::string fault = fault_of(text); !fault.empty()) {
    out_.aside(begin_, row_bytes_, line_, fault);
    return;
  }
  if (!columns_known_) {
    std::vector<std::string> numbers;
    for (size_t i = 1; i <= scanner_.field_count(); ++i) numbers.push_back(std::to_string(i));
    set_columns(std::move(numbers));
  }
  emit(text);
}

// A first line "sep=;" is how spreadsheets say what stands between the fields of the rows that
// follow.
bool DelimitedReader::separator_line(std::string_view text) {
  if (text.size() != 5 || !text.starts_with("sep=")) return false;
  if (!dialect_.can_delimit(text[4])) {
    unusable("the line sep= names a character that cannot stand between fields");
    return true;
  }
  delimiter_ = text[4];
  scanner_ = RowScanner(delimiter_, dialect_.quote, max_fields_, dialect_.escape);
  return true;
}

void DelimitedReader::header_row(std::string_view text) {
  const std::string fault = fault_of(text);
  std::vector<std::string> names;
  if (fault.empty()) {
    for (const girdle_text& name : values_.of(text, scanner_.fields(), form()))
      names.emplace_back(kit::view(name));
  }
  if (!is_header(names)) return;
  if (!fault.empty()) {
    unusable("the header row cannot be used: " + fault);
    return;
  }
  if (dialect_.number_repeated) number_repeated(names);
  if (const auto name = repeated(names)) {
    unusable(name->empty() ? "the header row cannot be used: two columns have no name"
                           : "the header row cannot be used: two columns are named \"" +
                                 std::string(*name) + "\"");
    return;
  }
  set_columns(std::move(names));
}

// Whether a row with these names may be the header.
bool DelimitedReader::is_header(const std::vector<std::string>& names) const {
  const auto& wanted = dialect_.header_names;
  return std::all_of(wanted.begin(), wanted.end(), [&](const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
  });
}

// Empty where there is none.
std::string DelimitedReader::fault_of(std::string_view text) const {
  if (scanner_.needs_a_look()) {
    if (const auto fault = source_.fault(text)) return std::string(*fault);
  }
  if (scanner_.fault() != RowFault::kNone) return std::string(quote_fault(scanner_.fault()));
  const size_t count = scanner_.field_count();
  if (count > max_fields_) {
    return fields(count) + " in one row; at most " + std::to_string(max_fields_) + " are read";
  }
  const bool padded = dialect_.pad_short && count < names_.size();
  if (columns_known_ && count != names_.size() && !padded) {
    return fields(count) + " where there are " + std::to_string(names_.size()) +
           (names_.size() == 1 ? " column" : " columns");
  }
  return {};
}

// Of the row at hand.
FieldForm DelimitedReader::form() const {
  return {dialect_.quote.value_or('\0'), dialect_.escape,
          scanner_.needs_a_look() ? source_.upper_half() : nullptr};
}

void DelimitedReader::set_columns(std::vector<std::string> names) {
  names_ = std::move(names);
  lent_names_.clear();
  for (const std::string& name : names_) lent_names_.push_back(kit::lend(name));
  columns_known_ = true;
}

void DelimitedReader::emit(std::string_view text) {
  const std::vector<girdle_text>& values =
      values_.of(text, scanner_.fields(), form(), names_.size());
  out_.emit({sizeof(girdle_record), 1, begin_, row_bytes_, line_, values.size(), lent_names_.data(),
             values.data()});
}

void DelimitedReader::unusable(std::string_view reason) {
  out_.aside(begin_, row_bytes_, line_, reason);
  rest_reason_ = RestReason::kHeader;
  mode_ = Mode::kRest;
}

// What stands before the header is not to be longer than a record.
void DelimitedReader::check_search() {
  if (searches() && begin_ - search_begin_ > out_.limit()) no_header();
}

// The header that had to be found is not there: all goes aside, from the beginning.
void DelimitedReader::no_header() {
  if (search_begin_ == fed_) {
    out_.aside(fed_, 0, 1, "no header row: the document holds no row at all");
  }
  begin_ = search_begin_;
  line_ = 1;
  rest_reason_ = RestReason::kNoHeader;
  mode_ = Mode::kRest;
}

std::string DelimitedReader::rest_reason() const {
  switch (rest_reason_) {
    case RestReason::kHeader:
      return "no row can be read, because the header row could not be used";
    case RestReason::kNoByteOrderMark:
      return "no byte order mark: it must say which of the two forms of UTF-16 this is; say "
             "encoding: utf-16le or utf-16be where there is none";
    case RestReason::kUtf32:
      return "the document is in UTF-32, which is not read";
    case RestReason::kNoHeader:
      break;
  }
  std::string reason = "no header row: one must ";
  if (dialect_.header_names.empty()) {
    reason += "be on line " + std::to_string(dialect_.header_line) + " or next behind it";
  } else {
    reason += "have the names ";
    for (const std::string& name : dialect_.header_names) reason += name + ", ";
    reason.resize(reason.size() - 2);
  }
  return reason + ", within the first " + std::to_string(out_.limit()) + " bytes";
}

// Whole pieces as they come, so that memory and a growing document's position do not wait for its
// end.
void DelimitedReader::set_rest_aside(bool whole) {
  if (mode_ != Mode::kRest) return;
  const std::string reason = rest_reason();
  while (!out_.stopped() && begin_ < fed_) {
    const uint64_t length = std::min(fed_ - begin_, out_.limit());
    if (!whole && length < out_.limit()) return;
    out_.aside(begin_, length, line_, reason);
    begin_ += length;
    line_ = 0;
  }
}

uint64_t DelimitedReader::consumed() const { return searches() ? search_begin_ : begin_; }

std::string_view DelimitedReader::save() {
  if (mode_ == Mode::kHead) return {};
  // While the header is looked for, the next reader begins to look anew.
  const bool anew = searches();
  const Mode mode = mode_ == Mode::kRow || anew ? Mode::kBetween : mode_;
  kit::StateWriter state(state_, kStateVersion, fingerprint_);
  state.number(static_cast<uint64_t>(mode)).number(static_cast<uint64_t>(source_.encoding()));
  state.number(static_cast<uint8_t>(anew ? dialect_.delimiter : delimiter_));
  state.number(anew ? 1 : line_).number(static_cast<uint64_t>(rest_reason_));
  state.number(anew || first_row_).number(!anew && after_cr_);
  state.number(place_.quoted).number(place_.field_quoted).number(place_.after_quote);
  state.number(place_.after_escape).number(place_.field_begins).number(place_.after_cr);
  state.number(place_.line_ends).number(columns_known_).number(names_.size());
  for (const std::string& name : names_) state.text(name);
  return state_;
}

bool DelimitedReader::resume(std::string_view bytes) {
  kit::StateParser state(bytes, kStateVersion, fingerprint_);
  mode_ = static_cast<Mode>(state.number(static_cast<uint64_t>(Mode::kRest)));
  const auto encoding = static_cast<Encoding>(state.number(kLastEncoding));
  delimiter_ = static_cast<char>(state.number(127));
  line_ = state.number();
  rest_reason_ =
      static_cast<RestReason>(state.number(static_cast<uint64_t>(RestReason::kNoHeader)));
  first_row_ = state.flag();
  after_cr_ = state.flag();
  place_.quoted = state.flag();
  place_.field_quoted = state.flag();
  place_.after_quote = state.flag();
  place_.after_escape = state.flag();
  place_.field_begins = state.flag();
  place_.after_cr = state.flag();
  place_.line_ends = state.number();
  const bool known = state.flag();
  std::vector<std::string> names(state.number(max_fields_));
  for (std::string& name : names) {
    if (!state.good()) return false;
    name = state.text();
  }
  const bool readable = mode_ != Mode::kHead && mode_ != Mode::kRow;
  if (!state.done() || !readable || !dialect_.can_delimit(delimiter_)) return false;
  if (!source_.set(encoding)) return false;
  scanner_ = RowScanner(delimiter_, dialect_.quote, max_fields_, dialect_.escape);
  scanner_.take_up(place_);
  if (known) set_columns(std::move(names));
  return true;
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor =
      kit::describe<DelimitedReader>("delimited", "0.2.0");
  return kDescriptor;
}

}  // namespace girdle::delimited
