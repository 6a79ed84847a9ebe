#include "labelled/labelled_reader.h"

#include <algorithm>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::labelled {

namespace {

using columns::LinePiece;
using columns::TextLine;

constexpr uint64_t kStateVersion = 1;

}  // namespace

std::unique_ptr<LabelledReader> LabelledReader::create(const girdle_reader_host& host,
                                                       const girdle_reader_setup& setup,
                                                       std::string& refusal) {
  return kit::Maker::make<LabelledReader>(host, setup, refusal, &Options::from);
}

LabelledReader::LabelledReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                               Options options)
    : out_(host, std::min(setup.max_record_bytes, kit::kMostRecordBytes)),
      options_(std::move(options)),
      lines_(out_, *this, options_.encoding),
      slip_(options_.fold, setup.max_fields) {}

girdle_status LabelledReader::feed(std::string_view bytes) {
  const uint64_t known = skipped_ > fed_ ? skipped_ - fed_ : 0;
  fed_ += bytes.size();
  lines_.feed(bytes.substr(std::min<uint64_t>(known, bytes.size())));
  return out_.status();
}

girdle_status LabelledReader::finish() {
  lines_.finish();
  if (open_) {
    end_ = std::min(end_, fed_);
    const bool cut = !options_.end.empty() || options_.lines != 0;
    if (cut && !options_.unended_is_record && fault_.empty()) {
      fault_ =
          "the document ends before the slip does; if the last slip has no end of its own, "
          "say unended: record";
    }
    end_slip();
  }
  finished_ = true;
  return out_.status();
}

void LabelledReader::take_line(const TextLine& line) {
  if (line.ends_page && line.length == 0) {  // a page that ends behind a line end
    line_ended(false, true);
    return;
  }
  ++line_count_;
  const std::string_view text = columns::without_outer_blanks(line.text);
  const Line kind = kind_of(line, text);
  // Only lines without a gap go on with a value; the end never does.
  if (text.empty() || kind == Line::kEnd) indent_.reset();
  // A line may be the last field and the end at once.
  const bool content =
      kind == Line::kContent || (kind == Line::kEnd && options_.labels.find(text) != nullptr);
  if (content) take_content(line, text);
  if (open_ && (content || kind != Line::kEnd)) grow_to(line.offset + line.length);
  line_ended(kind == Line::kEnd, line.ends_page);
}

// Such a line has no text that could be looked at; it is part of its slip.
void LabelledReader::take_piece(const LinePiece& piece) {
  if (!open_) begin_slip(piece.offset, piece.number);
  end_ = piece.offset + piece.length;
  grow_to(end_);
}

void LabelledReader::end_long_line(bool ends_page) {
  ++line_count_;
  line_ended(false, ends_page);
}

LabelledReader::Line LabelledReader::kind_of(const TextLine& line, std::string_view text) const {
  if (!line.fault.empty()) return Line::kContent;
  if (matches_any(options_.end, text)) return Line::kEnd;
  if (matches_any(options_.ignore, text)) return Line::kIgnored;
  return text.empty() ? Line::kBlank : Line::kContent;
}

void LabelledReader::take_content(const TextLine& line, std::string_view text) {
  if (!open_) {
    begin_slip(line.offset, line.number);
    lines_before_ = line_count_ - 1;
  }
  end_ = line.offset + line.length;
  if (long_ || !fault_.empty()) return;
  fault_ = take_fields(line, text).value_or("");
}

std::optional<std::string> LabelledReader::take_fields(const TextLine& line,
                                                       std::string_view text) {
  if (!line.fault.empty()) return std::string(line.fault);
  if (auto fault = columns::control_fault(text)) return fault;
  const auto indent = static_cast<size_t>(text.data() - line.text.data());
  if (options_.continued && indent_ && indent > *indent_) {
    slip_.go_on(text);
    return std::nullopt;
  }
  const LabelRules::Found* found = options_.labels.find(text);
  if (found == nullptr) {
    return "a line without a label: " + columns::excerpt(text) +
           "; name it in ignore if it is no result";
  }
  for (const auto& [label, value] : *found) {
    if (auto fault = slip_.add(label, value)) return fault;
  }
  indent_ = indent;
  return std::nullopt;
}

void LabelledReader::begin_slip(uint64_t offset, uint64_t line) {
  open_ = true;
  begin_ = end_ = offset;
  first_line_ = line;
  lines_before_ = line_count_;
}

// The slip, with what is blank or ignored at its end, goes on to `end`.
void LabelledReader::grow_to(uint64_t end) {
  if (!long_ && end - begin_ > out_.limit()) {
    long_ = true;
    fault_ = "the slip is longer than " + std::to_string(out_.limit()) + " bytes";
    slip_.clear();
  }
  while (long_ && end - begin_ >= out_.limit() && !out_.stopped()) {
    out_.aside(begin_, out_.limit(), first_line_, fault_);
    begin_ += out_.limit();
  }
}

void LabelledReader::line_ended(bool slip_ends, bool page_ends) {
  const bool counted = options_.lines != 0 && line_count_ == options_.lines;
  if (slip_ends || counted) end_slip();
  if (!page_ends || !options_.form_feed) return;
  if (open_ && options_.lines != 0) too_few_lines();
  end_slip();
}

void LabelledReader::too_few_lines() {
  if (!fault_.empty()) return;
  fault_ = "the slip has " + std::to_string(line_count_) + " of its " +
           std::to_string(options_.lines) + " lines";
}

void LabelledReader::end_slip() {
  if (open_ && !fault_.empty()) {
    if (end_ > begin_) out_.aside(begin_, end_ - begin_, first_line_, fault_);
  } else if (open_) {
    emit();
  }
  open_ = long_ = false;
  line_count_ = 0;
  fault_.clear();
  slip_.clear();
  indent_.reset();
}

void LabelledReader::emit() {
  const std::vector<girdle_text>& names = slip_.names();
  const std::vector<girdle_text>& values = slip_.values();
  out_.emit({sizeof(girdle_record), slip_.layout(), begin_, end_ - begin_, first_line_,
             names.size(), names.data(), values.data()});
}

uint64_t LabelledReader::consumed() const {
  if (finished_) return fed_;
  return open_ ? begin_ : lines_.begin();
}

std::string_view LabelledReader::save() {
  if (lines_.at_head()) return {};
  kit::StateWriter state(state_, kStateVersion, options_.fingerprint);
  const bool again = open_ && !long_;  // the slip will be read anew from its beginning
  state.number(long_).number(again ? lines_before_ : line_count_).number(first_line_);
  state.number(long_ ? lines_.begin() - begin_ : 0);
  state.number(long_ && end_ > begin_ ? end_ - begin_ : 0);
  if (again) {
    lines_.save_at_line(state, first_line_);
  } else {
    lines_.save(state);
  }
  return state_;
}

bool LabelledReader::resume(std::string_view bytes) {
  kit::StateParser state(bytes, kStateVersion, options_.fingerprint);
  open_ = long_ = state.flag();
  line_count_ = state.number();
  first_line_ = state.number();
  skipped_ = state.number(long_ ? 2 * out_.limit() + 4 : 0);
  end_ = state.number(skipped_);
  if (long_) fault_ = "the slip is longer than " + std::to_string(out_.limit()) + " bytes";
  return lines_.resume(state, skipped_) && state.done();
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor =
      kit::describe<LabelledReader>("labelled", "0.1.0");
  return kDescriptor;
}

}  // namespace girdle::labelled
