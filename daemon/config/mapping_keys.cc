// The keys of a mapping file.
#include "config/keys.h"

namespace girdle::config {
namespace {

using Words = std::string_view[];
using enum KeyType;

constexpr Words kSources = {"from", "value"};
constexpr Words kTwice = {"earlier", "later"};
constexpr Words kDecimals = {".", ","};
constexpr Words kGroups = {".", ",", "'", " "};

constexpr Key kFrom{"from", kColumns,
                    "The raw field, or a list of raw fields that are joined by one space"};
constexpr Key kValue{"value", kConstant, "A constant, instead of a raw field"};
constexpr Key kWords{"words", kTextMap,
                     "Their words and ours; with it, any other word sets the record aside"};
constexpr Key kDecimal{.name = "decimal",
                       .type = kChoice,
                       .summary = "The decimal mark",
                       .fallback = ".",
                       .choices = kDecimals};
constexpr Key kGroup{.name = "group",
                     .type = kChoice,
                     .summary = "The mark between groups of three digits; without it there is none",
                     .choices = kGroups};

constexpr Key kTextRule[] = {kFrom, kValue, kWords};
constexpr KeySet kTextRuleKeys{"", "fields: a text", kTextRule, kSources};

constexpr Key kTimeRule[] = {
    kFrom,
    kValue,
    kWords,
    {.name = "form",
     .type = kTimeForm,
     .summary = "How it is written: `rfc3339`, `unix`, `unix_ms`, or a pattern such as "
                "`\"%d.%m.%Y %H:%M:%S\"`",
     .fallback = "rfc3339"},
    {"zone", kZone, "Of local times in this field; without it the mapping's, else the site's"},
    {.name = "twice",
     .type = kChoice,
     .summary = "Which of the two a local time means in the hour that comes twice; without it the "
                "mapping's, else the record is set aside",
     .choices = kTwice},
};
constexpr KeySet kTimeRuleKeys{"", "fields: a time", kTimeRule, kSources};

constexpr Key unit_key(std::span<const std::string_view> units, std::string_view ours) {
  return {.name = "unit",
          .type = kChoice,
          .summary = "The unit in which it is written",
          .fallback = ours,
          .choices = units};
}
constexpr Words kCaratUnits = {"ct", "g", "mg"};
constexpr Words kLengthUnits = {"mm", "um", "in"};
constexpr Words kTemperatureUnits = {"C", "F"};
constexpr Words kFractionUnits = {"1", "percent"};
constexpr Words kPercentUnits = {"percent"};

constexpr Key kNumberRule[] = {kFrom, kValue, kWords, kDecimal, kGroup};
constexpr KeySet kNumberRuleKeys{"", "fields: a number without a unit", kNumberRule, kSources};
constexpr Key kCaratRule[] = {kFrom, kValue, kWords, unit_key(kCaratUnits, "ct"), kDecimal, kGroup};
constexpr KeySet kCaratRuleKeys{"", "fields: carat", kCaratRule, kSources};
constexpr Key kLengthRule[] = {kFrom,    kValue, kWords, unit_key(kLengthUnits, "mm"),
                               kDecimal, kGroup};
constexpr KeySet kLengthRuleKeys{"", "fields: a length", kLengthRule, kSources};
constexpr Key kTemperatureRule[] = {kFrom,    kValue, kWords, unit_key(kTemperatureUnits, "C"),
                                    kDecimal, kGroup};
constexpr KeySet kTemperatureRuleKeys{"", "fields: temperature_c", kTemperatureRule, kSources};
constexpr Key kFractionRule[] = {kFrom,    kValue, kWords, unit_key(kFractionUnits, "1"),
                                 kDecimal, kGroup};
constexpr KeySet kFractionRuleKeys{"", "fields: confidence", kFractionRule, kSources};
constexpr Key kPercentRule[] = {kFrom,    kValue, kWords, unit_key(kPercentUnits, "percent"),
                                kDecimal, kGroup};
constexpr KeySet kPercentRuleKeys{"", "fields: humidity_pct", kPercentRule, kSources};

// A test holds these against the model's own words.
constexpr Words kFindings = {"natural",  "laboratory_grown", "treated", "composite",
                             "simulant", "indeterminate",    "void"};
constexpr std::span<const std::string_view> kIdentities = std::span(kFindings).first(5);
constexpr Words kTypes = {"Ia", "Ib", "IIa", "IIb"};
constexpr Words kKinds = {"stone", "piece", "parcel"};

constexpr Key field(std::string_view name, std::string_view summary, const KeySet& rule,
                    bool required = false, std::span<const std::string_view> words = {}) {
  return {.name = name,
          .type = kMap,
          .summary = summary,
          .required = required,
          .choices = words,
          .map = &rule};
}

constexpr Key kStock =
    field("stock_number", "The house's key of the subject; `STOCK#2` is a stone of a piece",
          kTextRuleKeys);
constexpr Key kStockRequired = field("stock_number", kStock.summary, kTextRuleKeys, true);
constexpr Key kPosition = field("position", "Which stone of a piece", kTextRuleKeys);
constexpr Key kSubject = field("subject_kind", "What was measured", kTextRuleKeys, false, kKinds);
constexpr Key kCarat = field("carat", "Weight in carats", kCaratRuleKeys);
constexpr Key kColor = field("color", "Colour grade", kTextRuleKeys);
constexpr Key kShape = field("shape", "Shape of the stone", kTextRuleKeys);
constexpr Key kTable = field("table_mm", "Size of the table facet", kLengthRuleKeys);
constexpr Key kLength = field("length_mm", "Length", kLengthRuleKeys);
constexpr Key kWidth = field("width_mm", "Width", kLengthRuleKeys);
constexpr Key kDepth = field("depth_mm", "Depth", kLengthRuleKeys);

constexpr Key kReadingFields[] = {
    field("instrument", "The instrument's serial number", kTextRuleKeys, true),
    field("run", "The instrument's own number of the measurement", kTextRuleKeys),
    field("measured_at", "When it was measured", kTimeRuleKeys, true),
    kStock,
    kPosition,
    kSubject,
    field("finding", "What the reading asserts", kTextRuleKeys, true, kFindings),
    field("diamond_type", "The class by nitrogen and boron", kTextRuleKeys, false, kTypes),
    field("confidence", "0 to 1, as the instrument states it", kFractionRuleKeys),
    kCarat,
    kColor,
    kShape,
    kTable,
    kLength,
    kWidth,
    kDepth,
    field("temperature_c", "Degrees Celsius while it measured", kTemperatureRuleKeys),
    field("humidity_pct", "Relative humidity in per cent", kPercentRuleKeys),
    field("operator", "Who measured", kTextRuleKeys),
    field("note", "Any remark", kTextRuleKeys),
};
constexpr KeySet kReadingFieldKeys{"a reading", "fields of a reading", kReadingFields, {},
                                   "extra.",    &kTextRuleKeys};

constexpr Key kDeclarationFields[] = {
    kStockRequired,
    kPosition,
    kSubject,
    field("identity", "What the house claims it to be", kTextRuleKeys, false, kIdentities),
    kCarat,
    kColor,
    kShape,
    kTable,
    kLength,
    kWidth,
    kDepth,
    field("mount", "What it is set in", kTextRuleKeys),
    field("channel", "How it came into the house", kTextRuleKeys),
    field("stones", "Number of stones", kNumberRuleKeys),
    field("value", "Value in the house's money", kNumberRuleKeys),
    field("declared_at", "When the claim was made", kTimeRuleKeys),
};
constexpr KeySet kDeclarationFieldKeys{
    "a declaration", "fields of a declaration", kDeclarationFields, {}, "extra.", &kTextRuleKeys};

constexpr Key kScanFields[] = {
    field("bench", "The work place at which it was scanned", kTextRuleKeys, true),
    kStockRequired,
    kPosition,
    field("scanned_at", "When it was scanned", kTimeRuleKeys, true),
};
constexpr KeySet kScanFieldKeys{"a scan", "fields of a scan", kScanFields};

constexpr Words kReading = {"reading"};
constexpr Words kDeclaration = {"declaration"};
constexpr Words kScan = {"scan"};

constexpr Key record_key(std::span<const std::string_view> kind) {
  return {.name = "record",
          .type = kChoice,
          .summary = "What each raw record becomes: `reading`, `declaration` or `scan`",
          .required = true,
          .choices = kind};
}
constexpr Key kZoneKey{"zone", kZone, "Of local times in all fields; without it the site's"};
constexpr Key kTwiceKey{.name = "twice",
                        .type = kChoice,
                        .summary =
                            "Which of the two a local time means in the hour that comes "
                            "twice; without it the record is set aside",
                        .choices = kTwice};
constexpr Key fields_key(const KeySet& fields) {
  return {.name = "fields",
          .type = kMap,
          .summary = "Our fields, and where each comes from",
          .required = true,
          .map = &fields};
}

constexpr Key kReadingMapping[] = {record_key(kReading), kZoneKey, kTwiceKey,
                                   fields_key(kReadingFieldKeys)};
constexpr Key kDeclarationMapping[] = {record_key(kDeclaration), kZoneKey, kTwiceKey,
                                       fields_key(kDeclarationFieldKeys)};
constexpr Key kScanMapping[] = {record_key(kScan), kZoneKey, kTwiceKey, fields_key(kScanFieldKeys)};
constexpr KeySet kMappings[] = {{"the mapping", "a mapping file", kReadingMapping},
                                {"the mapping", "a mapping file", kDeclarationMapping},
                                {"the mapping", "a mapping file", kScanMapping}};

constexpr const KeySet* kMappingPages[] = {
    &kMappings[0],    &kReadingFieldKeys,    &kDeclarationFieldKeys, &kScanFieldKeys,
    &kTextRuleKeys,   &kTimeRuleKeys,        &kNumberRuleKeys,       &kCaratRuleKeys,
    &kLengthRuleKeys, &kTemperatureRuleKeys, &kFractionRuleKeys,     &kPercentRuleKeys};

}  // namespace

constexpr std::span<const KeySet> kMappingKeys = kMappings;
constexpr std::span<const KeySet* const> kMappingPage = kMappingPages;

}  // namespace girdle::config
