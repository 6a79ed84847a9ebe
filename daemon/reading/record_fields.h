// The fields that a mapping may fill, for each kind of record: design 4.2, and what a value has to
// be.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/clock.h"
#include "base/decimal.h"
#include "model/record.h"
#include "reading/field_values.h"

namespace girdle::reading {

// What is made of a text.
enum class Take : uint8_t {
  kKey,   // a name, number or word that is compared: short, without control characters
  kNote,  // a text that people read
  kDecimal,
  kTime,
  kStockNumber,
  kPosition,
  kFinding,
  kIdentity,
  kDiamondType,
  kSubjectKind,
  kExtra,
};

template <class Record>
struct Field {
  std::string_view name;
  Take take = Take::kKey;
  std::string Record::*text = nullptr;                      // kKey, kNote
  std::optional<base::Decimal> Record::*decimal = nullptr;  // kDecimal
  Range range = Range::kAny;
  bool required = false;
  // Never of what tells records apart and says whose they are, nor of the finding.
  bool may_have_default = false;
};

template <class Record>
std::span<const Field<Record>> fields_of();
template <>
std::span<const Field<model::Reading>> fields_of();
template <>
std::span<const Field<model::Declaration>> fields_of();
template <>
std::span<const Field<model::Scan>> fields_of();

// Our words for a field of closed vocabulary, as its numbers; nothing for any other word.
std::optional<uint8_t> word_number(Take take, std::string_view word);
// "stone, piece or parcel"; empty where the vocabulary is open.
std::string_view words_for(Take take);

// Only with a `take` that the record has a field for.
void set_word(model::Reading& reading, Take take, uint8_t number);
void set_word(model::Declaration& declaration, Take take, uint8_t number);
void set_word(model::Scan& scan, Take take, uint8_t number);

inline base::Instant& time_of(model::Reading& reading) { return reading.measured_at; }
inline base::Instant& time_of(model::Declaration& declaration) {
  return declaration.declared_at.emplace();
}
inline base::Instant& time_of(model::Scan& scan) { return scan.scanned_at; }

}  // namespace girdle::reading
