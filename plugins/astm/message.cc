#include "astm/message.h"

#include <utility>

namespace girdle::astm {

namespace {

constexpr std::string_view kLetters = "HPO";

std::string letter(size_t level) { return std::string(1, kLetters[level]); }

}  // namespace

Message::Message(bool decodes_escapes, uint64_t most_fields)
    : entries_{{Known::kMissing, {}, RecordFields(decodes_escapes, most_fields)},
               {Known::kMissing, {}, RecordFields(decodes_escapes, most_fields)},
               {Known::kMissing, {}, RecordFields(decodes_escapes, most_fields)}} {}

std::optional<std::string> Message::begin(Level level, std::string_view record) {
  const auto at = static_cast<size_t>(level);
  std::optional<std::string> fault = place_fault(level);
  for (size_t below = at; below < kLevels; ++below) {
    entries_[below].known = Known::kMissing;
    entries_[below].record.clear();
    entries_[below].fields.clear();
  }
  if (!fault) fault = read(level, record);
  Entry& entry = entries_[at];
  entry.known = fault ? Known::kUnreadable : Known::kYes;
  if (!fault) entry.record = record;
  if (fault) entry.fields.clear();
  if (fault && level == Level::kHeader) delimiters_.reset();
  return fault;
}

std::optional<std::string> Message::place_fault(Level level) const {
  if (level != Level::kOrder || of(Level::kPatient).known != Known::kMissing) return std::nullopt;
  return "an O record without a P record before it";
}

std::optional<std::string> Message::read(Level level, std::string_view record) {
  if (level == Level::kHeader) {
    std::string fault;
    delimiters_ = Delimiters::from(record, fault);
    if (!delimiters_) return fault;
  }
  return entries_[static_cast<size_t>(level)].fields.read(record, *delimiters_);
}

void Message::end() {
  for (Entry& entry : entries_) {
    entry.known = Known::kMissing;
    entry.record.clear();
    entry.fields.clear();
  }
  delimiters_.reset();
}

void Message::doubt() {
  if (!is_open()) return;
  for (size_t level = 1; level < kLevels; ++level) {
    if (entries_[level].known == Known::kYes || entries_[level].known == Known::kMissing) {
      entries_[level].known = Known::kDoubtful;
      entries_[level].record.clear();
      entries_[level].fields.clear();
    }
  }
}

std::optional<std::string> Message::fault() const {
  for (size_t level = 0; level < kLevels; ++level) {
    switch (entries_[level].known) {
      case Known::kYes:
        break;
      case Known::kMissing:
        return "an R record without " + std::string(level == 2 ? "an " : "a ") + letter(level) +
               " record before it";
      case Known::kUnreadable:
        return "the " + letter(level) + " record before it was set aside";
      case Known::kDoubtful:
        return "a record before it was set aside that may have been its " + letter(level) +
               " record";
    }
  }
  return std::nullopt;
}

void Message::save(kit::StateWriter& state) const {
  for (const Entry& entry : entries_) {
    state.number(static_cast<uint64_t>(entry.known)).text(entry.record);
  }
}

bool Message::resume(kit::StateParser& state) {
  for (size_t level = 0; level < kLevels; ++level) {
    Entry& entry = entries_[level];
    entry.known = static_cast<Known>(state.number(static_cast<uint64_t>(Known::kDoubtful)));
    entry.record = state.text();
    const bool has_marks = level == 0 || delimiters_.has_value();
    if (entry.known != Known::kYes) continue;
    if (!has_marks || read(static_cast<Level>(level), entry.record)) return false;
  }
  return state.good();
}

}  // namespace girdle::astm
