#include "vet/heard.h"

#include <algorithm>
#include <cstring>

#include "base/text.h"

namespace girdle::vet {
namespace {

void append_text(std::string& out, std::string_view text) {
  const uint64_t size = text.size();
  out.append(reinterpret_cast<const char*>(&size), sizeof size);
  out.append(text);
}

std::string take_text(std::string_view& bytes) {
  uint64_t size = 0;
  std::memcpy(&size, bytes.data(), sizeof size);
  std::string text(bytes.substr(sizeof size, size));
  bytes.remove_prefix(sizeof size + size);
  return text;
}


std::string place(const Event& event) {
  std::string out = "bytes " + std::to_string(event.offset) + " to " + std::to_string(event.end());
  if (event.line != 0) out = "line " + std::to_string(event.line) + ", " + out;
  return out;
}

// As a person counts them: records apart from asides.
std::string name_of(const Heard& heard, size_t index) {
  const bool aside = heard[index].aside;
  const auto number =
      std::count_if(heard.begin(), heard.begin() + static_cast<ptrdiff_t>(index) + 1,
                    [&](const Event& event) { return event.aside == aside; });
  return (aside ? "aside " : "record ") + std::to_string(number) + " (" + place(heard[index]) + ')';
}

std::string fields_differ(const Event& expected, const Event& heard) {
  const auto wanted = expected.fields(), got = heard.fields();
  for (size_t i = 0; i < std::max(wanted.size(), got.size()); ++i) {
    if (i >= got.size()) return "lacks the field " + base::in_quotes(wanted[i].first, 40);
    if (i >= wanted.size()) return "has one field more, " + base::in_quotes(got[i].first, 40);
    if (wanted[i].first != got[i].first)
      return "has the field " + base::in_quotes(got[i].first, 40) + " and not " + base::in_quotes(wanted[i].first, 40);
    if (wanted[i].second != got[i].second)
      return "has " + base::in_quotes(got[i].first, 40) + " = " + base::in_quotes(got[i].second, 40) + " and not " +
             base::in_quotes(wanted[i].second, 40);
  }
  return {};
}

std::string differ(const Event& expected, const Event& heard) {
  if (expected.aside != heard.aside)
    return heard.aside ? "is no record but set aside: " + base::excerpt(heard.texts, 120)
                       : "is a record and not set aside: " + base::excerpt(expected.texts, 120);
  if (expected.offset != heard.offset || expected.length != heard.length)
    return "is now " + place(heard);
  if (expected.line != heard.line)
    return "is on line " + std::to_string(heard.line) + " and not " + std::to_string(expected.line);
  if (expected.texts != heard.texts)
    return heard.aside
               ? "has the reason " + base::in_quotes(heard.texts, 40) + " and not " + base::in_quotes(expected.texts, 40)
               : fields_differ(expected, heard);
  return "has the layout " + std::to_string(heard.layout) + " and not " +
         std::to_string(expected.layout);
}

}  // namespace

std::vector<std::pair<std::string, std::string>> Event::fields() const {
  std::vector<std::pair<std::string, std::string>> fields;
  for (std::string_view left = texts; !aside && !left.empty();) {
    std::string name = take_text(left);
    fields.emplace_back(std::move(name), take_text(left));
  }
  return fields;
}

Event event_of(const girdle_record& record) {
  Event event{false, record.layout, record.offset, record.length, record.line, {}};
  for (size_t i = 0; i < record.count; ++i) {
    append_text(event.texts, view(record.names[i]));
    append_text(event.texts, view(record.values[i]));
  }
  return event;
}

Event event_of(const girdle_aside& aside) {
  return {true, 0, aside.offset, aside.length, aside.line, std::string(view(aside.reason))};
}

void append(Heard& heard, Heard later, uint64_t offset) {
  for (Event& event : later) {
    event.offset += offset;
    heard.push_back(std::move(event));
  }
}

void forget_layouts(Heard& heard) {
  for (Event& event : heard) event.layout = 0;
}

std::optional<std::string> difference(const Heard& expected, const Heard& heard) {
  const size_t both = std::min(expected.size(), heard.size());
  for (size_t i = 0; i < both; ++i) {
    if (expected[i] == heard[i]) continue;
    if (heard[i].offset >= expected[i].end() && expected.size() > heard.size())
      return name_of(expected, i) + " is missing";
    return name_of(expected, i) + ' ' + differ(expected[i], heard[i]);
  }
  if (expected.size() > both) return name_of(expected, both) + " is missing";
  if (heard.size() > both) return name_of(heard, both) + " is one too many";
  return std::nullopt;
}

}  // namespace girdle::vet
