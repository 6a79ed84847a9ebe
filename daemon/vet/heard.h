// What a reader told its host: records and asides, kept for comparing.
#pragma once

#include <girdle/reader.h>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "reading/lent_text.h"

namespace girdle::vet {

using reading::view;

struct Event {
  bool aside = false;
  uint32_t layout = 0;
  uint64_t offset = 0, length = 0, line = 0;
  std::string texts;  // a record's names and values, each behind its size; or an aside's reason

  uint64_t end() const { return offset + length; }
  std::vector<std::pair<std::string, std::string>> fields() const;
  bool operator==(const Event&) const = default;
};

Event event_of(const girdle_record& record);
Event event_of(const girdle_aside& aside);

using Heard = std::vector<Event>;

// `later` follows, from a reader whose first byte was the document's byte `offset`.
void append(Heard& heard, Heard later, uint64_t offset);

// Numbers of layouts count within one reader's life.
void forget_layouts(Heard& heard);

// The first difference, seen from `expected`: `record 2 (line 3, bytes 17 to 33) has "carat" =
// "0.5" and not "0.50"`. Nothing where both are the same.
std::optional<std::string> difference(const Heard& expected, const Heard& heard);

}  // namespace girdle::vet
