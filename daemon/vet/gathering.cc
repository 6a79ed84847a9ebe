#include "vet/gathering.h"

#include <algorithm>
#include <charconv>

namespace girdle::vet {
namespace {

constexpr size_t kMostNotes = 5;

// What follows from a fault that was told before: a reader that does not resume rightly does not
// with small limits either.
struct Consequence {
  std::string_view rule, of;
};
constexpr Consequence kConsequences[] = {{"limits.cuts", "cuts.records"},
                                         {"mutations.cuts", "cuts.records"},
                                         {"limits.resume", "resume.records"},
                                         {"mutations.resume", "resume.records"}};

int64_t integer(std::string_view text) {
  int64_t value = 0;
  std::from_chars(text.data(), text.data() + text.size(), value);
  return value;
}

}  // namespace

// A process that is cut down may leave half a message behind: it has too few texts.
void Gathering::take(const Message& message) {
  const auto& texts = message.texts;
  switch (message.kind) {
    case Tell::kFault:
      if (texts.size() == 5) fault(texts[0], texts[1], texts[2], texts[3], integer(texts[4]));
      break;
    case Tell::kTimes:
      if (texts.size() == 2) times(texts[0], integer(texts[1]));
      break;
    case Tell::kNote:
      if (texts.size() == 1) note(texts[0]);
      break;
    case Tell::kCannot:
      if (texts.size() == 1) check_.why_left_out = texts[0];
      break;
    case Tell::kMeasure:
      if (texts.size() == 3) measure(texts[0], integer(texts[1]), texts[2]);
      break;
    case Tell::kTried:
      if (texts.size() == 1) check_.tried += static_cast<uint64_t>(integer(texts[0]));
      break;
  }
}

void Gathering::fault(const std::string& rule, const std::string& where, const std::string& what,
                      const std::string& right, int64_t change) {
  if (known_.contains(rule) || follows(rule)) return;
  if (Fault* const same = find(rule)) {
    ++same->times;
    return;
  }
  check_.faults.push_back({rule, where, what, right, 1, {}});
  if (change != 0) changes_.emplace_back(check_.faults.size() - 1, change);
}

bool Gathering::follows(std::string_view rule) const {
  return std::any_of(std::begin(kConsequences), std::end(kConsequences), [&](const auto& known) {
    return known.rule == rule && known_.contains(std::string(known.of));
  });
}

Fault* Gathering::find(std::string_view rule) {
  const auto found = std::find_if(check_.faults.begin(), check_.faults.end(),
                                  [&](const Fault& fault) { return fault.rule == rule; });
  return found == check_.faults.end() ? nullptr : &*found;
}

void Gathering::times(const std::string& rule, int64_t more) {
  if (Fault* const fault = find(rule)) fault->times += static_cast<uint64_t>(more);
}

void Gathering::note(const std::string& text) {
  auto& notes = check_.notes;
  if (notes.size() < kMostNotes && std::find(notes.begin(), notes.end(), text) == notes.end())
    notes.push_back(text);
}

void Gathering::measure(const std::string& name, int64_t value, const std::string& unit) {
  for (Measure& known : check_.measures) {
    if (known.name != name) continue;
    known.value = unit.empty() ? known.value + value : std::max(known.value, value);
    return;
  }
  check_.measures.push_back({name, value, unit});
}

}  // namespace girdle::vet
