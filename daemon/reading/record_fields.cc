#include "reading/record_fields.h"

namespace girdle::reading {
namespace {

using model::Declaration;
using model::DiamondType;
using model::Finding;
using model::Reading;
using model::Scan;
using model::SubjectKind;

constexpr Field<Reading> measure(std::string_view name,
                                 std::optional<base::Decimal> Reading::*decimal, Range range) {
  return {.name = name,
          .take = Take::kDecimal,
          .decimal = decimal,
          .range = range,
          .may_have_default = true};
}

constexpr Field<Reading> kReadingFields[] = {
    {.name = "instrument", .text = &Reading::instrument, .required = true},
    {.name = "run", .text = &Reading::run},
    {.name = "measured_at", .take = Take::kTime, .required = true},
    {.name = "stock_number", .take = Take::kStockNumber},
    {.name = "position", .take = Take::kPosition},
    {.name = "subject_kind", .take = Take::kSubjectKind, .may_have_default = true},
    {.name = "finding", .take = Take::kFinding, .required = true},
    {.name = "diamond_type", .take = Take::kDiamondType, .may_have_default = true},
    measure("confidence", &Reading::confidence, Range::kFraction),
    measure("carat", &Reading::carat, Range::kPositive),
    {.name = "color", .text = &Reading::color, .may_have_default = true},
    {.name = "shape", .text = &Reading::shape, .may_have_default = true},
    measure("table_mm", &Reading::table_mm, Range::kPositive),
    measure("length_mm", &Reading::length_mm, Range::kPositive),
    measure("width_mm", &Reading::width_mm, Range::kPositive),
    measure("depth_mm", &Reading::depth_mm, Range::kPositive),
    measure("temperature_c", &Reading::temperature_c, Range::kCelsius),
    measure("humidity_pct", &Reading::humidity_pct, Range::kPercent),
    {.name = "operator", .text = &Reading::operator_name, .may_have_default = true},
    {.name = "note", .take = Take::kNote, .text = &Reading::note, .may_have_default = true},
};

// Lists come with dimensions of zero where nobody measured: kept as given, for a declaration is
// what the house claims.
constexpr Field<Declaration> kDeclarationFields[] = {
    {.name = "stock_number", .take = Take::kStockNumber, .required = true},
    {.name = "position", .take = Take::kPosition},
    {.name = "subject_kind", .take = Take::kSubjectKind},
    {.name = "identity", .take = Take::kIdentity},
    {.name = "color", .text = &Declaration::color},
    {.name = "shape", .text = &Declaration::shape},
    {.name = "mount", .text = &Declaration::mount},
    {.name = "channel", .text = &Declaration::channel},
    {.name = "carat",
     .take = Take::kDecimal,
     .decimal = &Declaration::carat,
     .range = Range::kPositive},
    {.name = "table_mm",
     .take = Take::kDecimal,
     .decimal = &Declaration::table_mm,
     .range = Range::kNotNegative},
    {.name = "length_mm",
     .take = Take::kDecimal,
     .decimal = &Declaration::length_mm,
     .range = Range::kNotNegative},
    {.name = "width_mm",
     .take = Take::kDecimal,
     .decimal = &Declaration::width_mm,
     .range = Range::kNotNegative},
    {.name = "depth_mm",
     .take = Take::kDecimal,
     .decimal = &Declaration::depth_mm,
     .range = Range::kNotNegative},
    {.name = "stones",
     .take = Take::kDecimal,
     .decimal = &Declaration::stones,
     .range = Range::kCount},
    {.name = "value",
     .take = Take::kDecimal,
     .decimal = &Declaration::value,
     .range = Range::kNotNegative},
    {.name = "declared_at", .take = Take::kTime},
};

constexpr Field<Scan> kScanFields[] = {
    {.name = "bench", .text = &Scan::bench, .required = true},
    {.name = "stock_number", .take = Take::kStockNumber, .required = true},
    {.name = "position", .take = Take::kPosition},
    {.name = "scanned_at", .take = Take::kTime, .required = true},
};

template <class Enum>
std::optional<uint8_t> number_of(std::optional<Enum> word) {
  if (!word) return std::nullopt;
  return static_cast<uint8_t>(*word);
}

}  // namespace

template <>
std::span<const Field<Reading>> fields_of() {
  return kReadingFields;
}
template <>
std::span<const Field<Declaration>> fields_of() {
  return kDeclarationFields;
}
template <>
std::span<const Field<Scan>> fields_of() {
  return kScanFields;
}

std::optional<uint8_t> word_number(Take take, std::string_view word) {
  switch (take) {
    case Take::kFinding:
      return number_of(model::finding_of(word));
    case Take::kDiamondType:
      return number_of(model::diamond_type_of(word));
    case Take::kSubjectKind:
      return number_of(model::subject_kind_of(word));
    case Take::kIdentity: {
      const auto claimed = model::finding_of(word);
      const bool identity =
          claimed && *claimed != Finding::kIndeterminate && *claimed != Finding::kVoid;
      return identity ? number_of(claimed) : std::nullopt;
    }
    case Take::kKey:
    case Take::kNote:
    case Take::kDecimal:
    case Take::kTime:
    case Take::kStockNumber:
    case Take::kPosition:
    case Take::kExtra:
      break;
  }
  return std::nullopt;
}

std::string_view words_for(Take take) {
  switch (take) {
    case Take::kFinding:
      return "natural, laboratory_grown, treated, composite, simulant, indeterminate or void";
    case Take::kIdentity:
      return "natural, laboratory_grown, treated, composite or simulant";
    case Take::kDiamondType:
      return "Ia, Ib, IIa or IIb";
    case Take::kSubjectKind:
      return "stone, piece or parcel";
    case Take::kKey:
    case Take::kNote:
    case Take::kDecimal:
    case Take::kTime:
    case Take::kStockNumber:
    case Take::kPosition:
    case Take::kExtra:
      break;
  }
  return {};
}

void set_word(Reading& reading, Take take, uint8_t number) {
  if (take == Take::kFinding) reading.finding = static_cast<Finding>(number);
  if (take == Take::kDiamondType) reading.diamond_type = static_cast<DiamondType>(number);
  if (take == Take::kSubjectKind) reading.subject_kind = static_cast<SubjectKind>(number);
}

void set_word(Declaration& declaration, Take take, uint8_t number) {
  if (take == Take::kIdentity) declaration.identity = static_cast<Finding>(number);
  if (take == Take::kSubjectKind) declaration.subject_kind = static_cast<SubjectKind>(number);
}

void set_word(Scan&, Take, uint8_t) {}

}  // namespace girdle::reading
