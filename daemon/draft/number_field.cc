#include "draft/number_field.h"

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "draft/evidence.h"
#include "draft/line_pattern.h"

namespace girdle::draft {
namespace {

using base::Decimal;

// As it stands behind the numbers, or in the name.
std::string_view unit_of(const Column& column, std::string_view field) {
  const std::string_view behind = unit_named(column.unit, field);
  return behind.empty() ? unit_in(column.name, field) : behind;
}

void add_marks(const Column& column, char file_mark, FieldDraft& field) {
  const NumberLook& look = column.numbers;
  if (look.whole) {
    if (file_mark == ',') field.keys.push_back(settled("decimal", ","));
    return;
  }
  const auto by_file = std::find_if(look.marks.begin(), look.marks.end(),
                                    [&](const Marks& marks) { return marks.decimal == file_mark; });
  if (look.is_ambiguous() && by_file == look.marks.end()) {
    std::vector<std::string> decimals;
    for (const Marks& marks : look.marks) decimals.emplace_back(1, marks.decimal);
    field.keys.push_back(open_setting("decimal", decimals, "the mark may set thousands apart"));
    field.evidence.push_back(
        "with the decimal mark \".\" the mapping needs  group: \",\"  too, and the other "
        "way round");
    return;
  }
  const Marks marks = look.is_ambiguous() ? *by_file : look.marks.front();
  if (look.is_ambiguous()) field.evidence.push_back("the decimal mark is that of other columns");
  if (marks.decimal != '.') field.keys.push_back(settled("decimal", std::string(1, marks.decimal)));
  if (marks.group != '\0') field.keys.push_back(settled("group", std::string(1, marks.group)));
}

void offer_only(FieldDraft& field, std::string why) {
  field.only_offered = true;
  field.evidence.push_back(std::move(why));
}

// The key `unit`, with the first of `units` as what is meant without it; open where nothing says.
void add_unit(std::string_view unit, std::vector<std::string> units, FieldDraft& field) {
  if (unit == units.front()) return;
  field.keys.push_back(unit.empty()
                           ? open_setting("unit", std::move(units), "the name does not say")
                           : settled("unit", std::string(unit)));
}

void add_size(std::string_view name, std::string_view unit, const NumberLook& look,
              FieldDraft& field) {
  add_unit(unit, {"mm", "um", "in"}, field);
  const bool may_be_share = unit.empty() && (name == "table_mm" || name == "depth_mm") &&
                            look.least >= Decimal(30) && look.most <= Decimal(90);
  if (may_be_share) offer_only(field, "looks like a percentage, which is no size");
}

void add_temperature(std::string_view unit, const NumberLook& look, FieldDraft& field) {
  if (unit.empty() && look.most <= Decimal(45)) {
    field.evidence.emplace_back("taken as degrees Celsius: no shop is as cold in Fahrenheit");
  } else {
    add_unit(unit, {"C", "F"}, field);
  }
}

void check_humidity(const NumberLook& look, FieldDraft& field) {
  if (look.least < Decimal(0) || look.most > Decimal(100)) {
    offer_only(field, "not all are from 0 to 100");
  } else if (look.most <= Decimal(1)) {
    offer_only(field, "all are from 0 to 1, which may be no per cent");
  }
}

void add_confidence(std::string_view unit, const NumberLook& look, FieldDraft& field) {
  if (unit == "percent" || look.most > Decimal(1)) {
    const char* const why = unit == "percent" ? "" : "not all are from 0 to 1";
    field.keys.push_back(settled("unit", "percent", why));
  } else if (look.whole) {
    field.keys.push_back(
        open_setting("unit", {"1", "percent"}, "0 and 1 may be shares or per cents"));
  }
  if (look.least < Decimal(0) || look.most > Decimal(100)) {
    offer_only(field, "not all are from 0 to 100");
  }
}

}  // namespace

FieldDraft number_field(std::string_view name, const Column& column, char file_mark,
                        std::string_view said_unit) {
  FieldDraft field;
  field.field = name;
  field.evidence.push_back(numbers_shown(column));
  if (!column.unit.empty()) {
    // One group is what is taken.
    field.keys.push_back(settled("match", "(.*[0-9]) *" + quoted_for_pattern(column.unit)));
    field.evidence.push_back("behind each stands " + in_quotes(column.unit));
  }
  const NumberLook& look = column.numbers;
  const std::string_view said = unit_named(said_unit, name);
  const std::string_view unit = said.empty() ? unit_of(column, name) : said;
  if (!said.empty()) field.evidence.push_back("beside each stands " + in_quotes(said_unit));
  if (name == "carat") add_unit(unit, {"ct", "g", "mg"}, field);
  if (name.ends_with("_mm")) add_size(name, unit, look, field);
  if (name == "temperature_c") add_temperature(unit, look, field);
  if (name == "humidity_pct") check_humidity(look, field);
  if (name == "confidence") add_confidence(unit, look, field);
  add_marks(column, file_mark, field);
  return field;
}

}  // namespace girdle::draft
