// The keys of a mapping file.
#include <array>

#include "config/keys.h"

namespace girdle::config {
namespace {

using Words = std::string_view[];
using enum KeyType;

constexpr Words kSources = {"from", "value"};
constexpr Words kTwice = {"earlier", "later"};
constexpr Words kDecimals = {".", ","};
constexpr Words kGroups = {".", ",", "'", " "};

constexpr Words kFolds = {"case", "space"};

constexpr Key kFrom{"from", kColumns, "The raw field, or a list of raw fields that are joined"};
constexpr Key kJoin{.name = "join",
                    .type = kConstant,
                    .summary = "What stands between several raw fields; it may be empty",
                    .fallback = " ",
                    .needs = "from"};
constexpr Key kValue{"value", kConstant, "A constant, instead of a raw field"};
constexpr Key kGs1{.name = "gs1",
                   .type = kIdentifiers,
                   .summary =
                       "The raw field is a GS1 code, scanned or written: an element string or a "
                       "GS1 Digital Link. What is taken is the data of this application "
                       "identifier, or of the first in a list that is there; any other text, and "
                       "any code that may have lost a part, sets the record aside",
                   .needs = "from"};
constexpr Key kMatch{.name = "match",
                     .type = kText,
                     .summary =
                         "A pattern of RE2 that the whole text has to match; any other text "
                         "sets the record aside. Its one group is what is taken",
                     .needs = "from"};
constexpr Key kTake{.name = "take",
                    .type = kText,
                    .summary =
                        "What is taken of a text that matches: a text with groups of the "
                        "pattern, `\\1` to `\\9` and `\\g<name>`; `\\0` is all of it",
                    .needs = "match"};
constexpr Key kWords{"words", kTextMap,
                     "Their words and ours; with it, any other word sets the record aside"};
constexpr Key kFold{.name = "fold",
                    .type = kChoices,
                    .summary =
                        "`case`: capital and small letters are the same in `words`; `space`: "
                        "so are spaces of any kind and number; without it words are exact",
                    .choices = kFolds,
                    .needs = "words"};
constexpr Key kDefault{.name = "default",
                       .type = kLabel,
                       .summary =
                           "What stands in where there is no value, in our word, and in the "
                           "form and unit of the field; the reading names such fields, and "
                           "they decide nothing",
                       .needs = "from"};
constexpr Key kDecimal{.name = "decimal",
                       .type = kChoice,
                       .summary = "The decimal mark",
                       .fallback = ".",
                       .choices = kDecimals};
constexpr Key kGroup{.name = "group",
                     .type = kChoice,
                     .summary = "The mark between groups of three digits; without it there is none",
                     .choices = kGroups};

constexpr Key kTextRule[] = {kFrom, kJoin, kValue, kGs1, kMatch, kTake, kWords, kFold};
constexpr KeySet kTextRuleKeys{"", "fields: a text", kTextRule, kSources};
constexpr Key kTextRuleDefault[] = {kFrom, kJoin,  kValue, kGs1,    kMatch,
                                    kTake, kWords, kFold,  kDefault};
constexpr KeySet kTextRuleDefaultKeys{"",
                                      "fields: a text that may have a default",
                                      kTextRuleDefault,
                                      kSources,
                                      {},
                                      nullptr,
                                      &kTextRuleKeys};

constexpr Key kTimeRule[] = {
    kFrom,
    kJoin,
    kValue,
    kGs1,
    kMatch,
    kTake,
    kWords,
    kFold,
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
constexpr KeySet kTimeRuleKeys{"", "fields: a time", kTimeRule,     kSources,
                               {}, nullptr,          &kTextRuleKeys};

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
constexpr Words kPercentUnits = {"percent", "1"};

// Of a declaration, which has no defaults.
constexpr Key kNumberRule[] = {kFrom, kJoin,  kValue, kGs1,     kMatch,
                               kTake, kWords, kFold,  kDecimal, kGroup};
constexpr KeySet kNumberRuleKeys{
    "", "fields: a number without a unit", kNumberRule, kSources, {}, nullptr, &kTextRuleKeys};

using MeasureRule = std::array<Key, 11>;
constexpr MeasureRule measure_rule(Key unit) {
  return {kFrom, kJoin, kValue, kGs1, kMatch, kTake, kWords, kFold, unit, kDecimal, kGroup};
}
constexpr MeasureRule kCaratRule = measure_rule(unit_key(kCaratUnits, "ct"));
constexpr KeySet kCaratRuleKeys{
    "", "fields: carat of a declaration", kCaratRule, kSources, {}, nullptr, &kTextRuleKeys};
constexpr MeasureRule kLengthRule = measure_rule(unit_key(kLengthUnits, "mm"));
constexpr KeySet kLengthRuleKeys{
    "", "fields: a length of a declaration", kLengthRule, kSources, {}, nullptr, &kTextRuleKeys};

// Of a reading.
using MeasureRuleDefault = std::array<Key, 12>;
constexpr MeasureRuleDefault measure_rule_default(Key unit) {
  return {kFrom,  kJoin, kValue,   kGs1, kMatch,   kTake,
          kWords, kFold, kDefault, unit, kDecimal, kGroup};
}
constexpr auto kReadCaratRule = measure_rule_default(unit_key(kCaratUnits, "ct"));
constexpr KeySet kReadCaratRuleKeys{"", "fields: carat", kReadCaratRule, kSources,
                                    {}, nullptr,         &kTextRuleKeys};
constexpr auto kReadLengthRule = measure_rule_default(unit_key(kLengthUnits, "mm"));
constexpr KeySet kReadLengthRuleKeys{"",      "fields: a length", kReadLengthRule, kSources, {},
                                     nullptr, &kTextRuleKeys};
constexpr auto kTemperatureRule = measure_rule_default(unit_key(kTemperatureUnits, "C"));
constexpr KeySet kTemperatureRuleKeys{
    "", "fields: temperature_c", kTemperatureRule, kSources, {}, nullptr, &kTextRuleKeys};
constexpr auto kFractionRule = measure_rule_default(unit_key(kFractionUnits, "1"));
constexpr KeySet kFractionRuleKeys{"",      "fields: confidence", kFractionRule, kSources, {},
                                   nullptr, &kTextRuleKeys};
constexpr auto kPercentRule = measure_rule_default(unit_key(kPercentUnits, "percent"));
constexpr KeySet kPercentRuleKeys{"",      "fields: humidity_pct", kPercentRule, kSources, {},
                                  nullptr, &kTextRuleKeys};

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

constexpr Key with_rule(Key key, const KeySet& rule) {
  key.map = &rule;
  return key;
}

constexpr Key kReadingFields[] = {
    field("instrument", "The instrument's serial number", kTextRuleKeys, true),
    field("run", "The instrument's own number of the measurement", kTextRuleKeys),
    field("measured_at", "When it was measured", kTimeRuleKeys, true),
    kStock,
    kPosition,
    with_rule(kSubject, kTextRuleDefaultKeys),
    field("finding", "What the reading asserts", kTextRuleKeys, true, kFindings),
    field("diamond_type", "The class by nitrogen and boron", kTextRuleDefaultKeys, false, kTypes),
    field("confidence", "0 to 1, as the instrument states it", kFractionRuleKeys),
    with_rule(kCarat, kReadCaratRuleKeys),
    with_rule(kColor, kTextRuleDefaultKeys),
    with_rule(kShape, kTextRuleDefaultKeys),
    with_rule(kTable, kReadLengthRuleKeys),
    with_rule(kLength, kReadLengthRuleKeys),
    with_rule(kWidth, kReadLengthRuleKeys),
    with_rule(kDepth, kReadLengthRuleKeys),
    field("temperature_c", "Degrees Celsius while it measured", kTemperatureRuleKeys),
    field("humidity_pct", "Relative humidity in per cent", kPercentRuleKeys),
    field("operator", "Who measured", kTextRuleDefaultKeys),
    field("note", "Any remark", kTextRuleDefaultKeys),
};
constexpr KeySet kReadingFieldKeys{"a reading", "fields of a reading", kReadingFields, {},
                                   "extra.",    &kTextRuleDefaultKeys};

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

constexpr Key kWhen{"when", kTests,
                    "Which raw records: raw fields, each with the text, or a list of the texts, "
                    "that it has to have; the last section may leave it out, and takes the rest"};
constexpr Key kWhenIgnored{"when", kTests, "Which raw records, as in any section", true};
constexpr Key kReadingSection[] = {kWhen, record_key(kReading), fields_key(kReadingFieldKeys)};
constexpr Key kDeclarationSection[] = {kWhen, record_key(kDeclaration),
                                       fields_key(kDeclarationFieldKeys)};
constexpr Key kScanSection[] = {kWhen, record_key(kScan), fields_key(kScanFieldKeys)};
constexpr Key kIgnoredSection[] = {
    kWhenIgnored,
    {"ignore", kLabel, "Why these are no results; they are counted, and told by it", true}};
constexpr KeySet kSectionKinds[] = {
    {"a section", "records[]: a section that makes records", kReadingSection},
    {"a section", "records[]: a section that makes records", kDeclarationSection},
    {"a section", "records[]: a section that makes records", kScanSection},
    {"a section", "records[]: a section that is ignored", kIgnoredSection}};

constexpr Key kSectionedMapping[] = {
    kZoneKey,
    kTwiceKey,
    {.name = "records",
     .type = kSections,
     .summary = "Several kinds of raw records: each is for the first section that takes it; one "
                "that fits none is set aside",
     .required = true,
     .kinds = kSectionKinds}};

constexpr KeySet kMappings[] = {{"the mapping", "a mapping file", kReadingMapping},
                                {"the mapping", "a mapping file", kDeclarationMapping},
                                {"the mapping", "a mapping file", kScanMapping},
                                {"the mapping", "a mapping file with sections", kSectionedMapping}};

// Of the kinds of files and of sections with the same keys, one each.
constexpr const KeySet* kMappingPages[] = {
    &kMappings[0],         &kMappings[3],          &kSectionKinds[0],  &kSectionKinds[3],
    &kReadingFieldKeys,    &kDeclarationFieldKeys, &kScanFieldKeys,    &kTextRuleKeys,
    &kTextRuleDefaultKeys, &kTimeRuleKeys,         &kNumberRuleKeys,   &kReadCaratRuleKeys,
    &kReadLengthRuleKeys,  &kTemperatureRuleKeys,  &kFractionRuleKeys, &kPercentRuleKeys,
    &kCaratRuleKeys,       &kLengthRuleKeys};

}  // namespace

constexpr std::span<const KeySet> kMappingKeys = kMappings;
constexpr std::span<const KeySet> kSectionKeys = kSectionKinds;
constexpr std::span<const KeySet* const> kMappingPage = kMappingPages;

}  // namespace girdle::config
