#include "columns/columns_reader.h"

#include <algorithm>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::columns {

namespace {

constexpr uint64_t kStateVersion = 1;

bool is_blank(std::string_view text) { return without_outer_blanks(text).empty(); }

}  // namespace

std::unique_ptr<ColumnsReader> ColumnsReader::create(const girdle_reader_host& host,
                                                     const girdle_reader_setup& setup,
                                                     std::string& refusal) {
  return kit::Maker::make<ColumnsReader>(host, setup, refusal, &Options::from);
}

ColumnsReader::ColumnsReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                             Options options)
    : out_(host, std::min(setup.max_record_bytes, kit::kMostRecordBytes)),
      options_(std::move(options)),
      lines_(out_, *this, options_.encoding, options_.measure.bytes),
      fields_(options_.measure),
      carried_(options_.layout.kinds) {
  const std::vector<LineKind>& kinds = options_.layout.kinds;
  for (const LineKind& kind : kinds) {
    std::vector<girdle_text>& names = names_.emplace_back();
    for (const std::string& name : kind.names) names.push_back(kit::lend(name));
    for (const LineKind& other : kinds) {
      if (!other.carried) continue;
      for (const std::string& name : other.names) names.push_back(kit::lend(name));
    }
  }
}

girdle_status ColumnsReader::feed(std::string_view bytes) {
  lines_.feed(bytes);
  return out_.status();
}

girdle_status ColumnsReader::finish() {
  lines_.finish();
  return out_.status();
}

void ColumnsReader::take_line(const TextLine& line) {
  if (!line.fault.empty()) {
    of_no_kind(line, line.fault);
    return;
  }
  if (is_blank(line.text)) return;
  const Layout::Match match = options_.layout.match(line.text);
  switch (match.found) {
    case Layout::Found::kIgnored:
      return;
    case Layout::Found::kKind:
      of_kind(line, match.kind);
      return;
    case Layout::Found::kNothing:
      of_no_kind(line, "no known kind of line begins like " + excerpt(line.text) + "; there is " +
                           kinds() + "; name it in ignore if it is no result");
      return;
  }
}

void ColumnsReader::take_piece(const LinePiece& piece) {
  out_.aside(piece.offset, piece.length, piece.number,
             "the line is longer than " + std::to_string(out_.limit()) + " bytes");
  carried_.doubt();
}

void ColumnsReader::of_no_kind(const TextLine& line, std::string_view reason) {
  out_.aside(line.offset, line.length, line.number, reason);
  carried_.doubt();
}

void ColumnsReader::of_kind(const TextLine& line, size_t index) {
  const LineKind& kind = options_.layout.kinds[index];
  std::optional<std::string> fault = fields_.read(line.text, line.bytes, kind);
  if (kind.carried && !fault) {
    carried_.set(index, fields_.values());
    return;
  }
  if (kind.carried) carried_.set_unreadable(index);
  if (!fault) fault = carried_.fault();
  if (fault) {
    out_.aside(line.offset, line.length, line.number, *fault);
  } else {
    emit(line, index);
  }
}

void ColumnsReader::emit(const TextLine& line, size_t index) {
  values_.clear();
  for (const std::string_view value : fields_.values()) values_.push_back(kit::lend(value));
  carried_.each([&](const std::string& value) { values_.push_back(kit::lend(value)); });
  out_.emit({sizeof(girdle_record), static_cast<uint32_t>(index + 1), line.offset, line.length,
             line.number, values_.size(), names_[index].data(), values_.data()});
}

std::string ColumnsReader::kinds() const {
  std::string list;
  for (const LineKind& kind : options_.layout.kinds)
    list += (list.empty() ? "" : ", ") + kind.title();
  return list;
}

std::string_view ColumnsReader::save() {
  if (lines_.at_head()) return {};
  kit::StateWriter state(state_, kStateVersion, options_.fingerprint);
  lines_.save(state);
  carried_.save(state);
  return state_;
}

bool ColumnsReader::resume(std::string_view bytes) {
  kit::StateParser state(bytes, kStateVersion, options_.fingerprint);
  return lines_.resume(state, 0) && carried_.resume(state) && state.done();
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor =
      kit::describe<ColumnsReader>("columns", "0.1.0");
  return kDescriptor;
}

}  // namespace girdle::columns
