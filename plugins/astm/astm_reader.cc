#include "astm/astm_reader.h"

#include <algorithm>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"
#include "kit/setup.h"

namespace girdle::astm {

using columns::TextLine;

namespace {

constexpr uint64_t kStateVersion = 1;

// What a termination code says of its message; empty where nothing is wrong with it.
std::string fault_of_code(std::string_view code) {
  const auto told = [&](std::string_view meaning) {
    return "the message ended with the code " + std::string(code) + ": " + std::string(meaning);
  };
  if (code.empty() || code == "N" || code == "F") return {};
  if (code == "T") return told("its sender gave it up; results may be missing");
  if (code == "R") return told("its receiver asked for its end; results may be missing");
  if (code == "E") return told("an error that is not known; results may be missing");
  if (code == "Q") return told("an error in the last request");
  if (code == "I") return told("nothing was found for the last query");
  return "the message ended with the code " + columns::excerpt(code) +
         ", which is none; there are N, F, T, R, E, Q and I";
}

}  // namespace

std::unique_ptr<AstmReader> AstmReader::create(const girdle_reader_host& host,
                                               const girdle_reader_setup& setup,
                                               std::string& refusal) {
  return kit::Maker::make<AstmReader>(host, setup, refusal, &Options::from);
}

AstmReader::AstmReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                       Options options)
    : out_(host, std::min(setup.max_record_bytes, kit::kMostRecordBytes)),
      options_(std::move(options)),
      most_fields_(setup.max_fields),
      lines_(out_, *this, options_.encoding),
      message_(options_.decodes_escapes, most_fields_),
      fields_(options_.decodes_escapes, most_fields_) {}

girdle_status AstmReader::feed(std::string_view bytes) {
  lines_.feed(bytes);
  return out_.status();
}

girdle_status AstmReader::finish() {
  is_finishing_ = true;
  lines_.finish();
  if (message_.is_open()) tell_missing_end(lines_.begin(), 0);
  return out_.status();
}

void AstmReader::take_line(const TextLine& line) {
  if (!line.fault.empty()) return no_record(line, line.fault);
  if (columns::without_outer_blanks(line.text).empty()) return;
  if (is_finishing_ && !is_whole_terminator(line.text)) {
    return no_record(line, "the document ends within this record: a record ends with CR");
  }
  if (line.text[0] == 'H') return header(line);
  if (!message_.is_open()) {
    return no_record(line, "a record outside of a message: no header record (H) stands before it");
  }
  if (!message_.delimiters()) {
    aside(line, "the H record before it was set aside");
    if (line.text[0] == 'L') message_.end();
    return;
  }
  in_message(line);
}

// Without its CR only a terminator with a code is certain to be whole.
bool AstmReader::is_whole_terminator(std::string_view text) const {
  return text[0] == 'L' && message_.delimiters() &&
         !field_of(text, message_.delimiters()->field, 3).empty();
}

void AstmReader::take_piece(const columns::LinePiece& piece) {
  out_.aside(piece.offset, piece.length, piece.number,
             "the record is longer than " + std::to_string(out_.limit()) + " bytes");
  message_.doubt();
}

void AstmReader::header(const TextLine& line) {
  if (message_.is_open()) tell_missing_end(line.offset, line.number);
  enclosing(line, Message::Level::kHeader);
}

void AstmReader::in_message(const TextLine& line) {
  const char letter = line.text[0];
  const bool is_whole_letter =
      line.text.size() == 1 || line.text[1] == message_.delimiters()->field;
  switch (is_whole_letter ? letter : '\0') {
    case 'P':
      return enclosing(line, Message::Level::kPatient);
    case 'O':
      return enclosing(line, Message::Level::kOrder);
    case 'R':
      return result(line);
    case 'C':
    case 'M':
    case 'S':
      if (!options_.passes_comments) aside(line, "a record that is no result: C, M or S");
      return;
    case 'Q':
      return aside(line, "a query: the device asks for what it is to do, and nobody answers it");
    case 'L':
      return terminator(line);
    default:
      return no_record(line, "no record begins like " + columns::excerpt(line.text) +
                                 "; there are H, P, O, R, C, Q, L, M and S, each with a delimiter "
                                 "behind it");
  }
}

void AstmReader::enclosing(const TextLine& line, Message::Level level) {
  if (const auto fault = message_.begin(level, line.text)) aside(line, *fault);
}

void AstmReader::result(const TextLine& line) {
  std::optional<std::string> fault = message_.fault();
  if (!fault) fault = fields_.read(line.text, *message_.delimiters());
  if (fault) return aside(line, *fault);
  emit(line);
}

void AstmReader::emit(const TextLine& line) {
  names_.clear();
  values_.clear();
  const auto take = [this](const RecordFields& fields) {
    for (const std::string& name : fields.names()) names_.push_back(kit::lend(name));
    for (const std::string& value : fields.values()) values_.push_back(kit::lend(value));
  };
  message_.each(take);
  take(fields_);
  if (names_.size() > most_fields_) {
    return aside(line, "more than " + std::to_string(most_fields_) +
                           " fields, components and repeats, with those of its H, P and O records");
  }
  out_.emit({sizeof(girdle_record), 0, line.offset, line.length, line.number, names_.size(),
             names_.data(), values_.data()});
}

void AstmReader::terminator(const TextLine& line) {
  const std::string fault = fault_of_code(field_of(line.text, message_.delimiters()->field, 3));
  message_.end();
  if (!fault.empty()) aside(line, fault);
}

// It may have been any record: what it enclosed is no longer certain.
void AstmReader::no_record(const TextLine& line, std::string_view reason) {
  aside(line, reason);
  message_.doubt();
}

void AstmReader::aside(const TextLine& line, std::string_view reason) {
  out_.aside(line.offset, line.length, line.number, reason);
}

void AstmReader::tell_missing_end(uint64_t offset, uint64_t line) {
  if (!options_.wants_terminator) return;
  out_.aside(offset, 0, line, "the message before has no L record; results may be missing");
}

std::string_view AstmReader::save() {
  if (lines_.at_head()) return {};
  kit::StateWriter state(state_, kStateVersion, options_.fingerprint);
  lines_.save(state);
  message_.save(state);
  return state_;
}

bool AstmReader::resume(std::string_view bytes) {
  kit::StateParser state(bytes, kStateVersion, options_.fingerprint);
  return lines_.resume(state, 0) && message_.resume(state) && state.done();
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor =
      kit::describe<AstmReader>("astm", "0.1.0");
  return kDescriptor;
}

}  // namespace girdle::astm
