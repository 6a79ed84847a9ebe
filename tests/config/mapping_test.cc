// A mapping file: what it becomes, and one thing wrong at a time.
#include <gmock/gmock.h>

#include "config/keys.h"
#include "model/words.h"
#include "small_house.h"

namespace girdle::config {
namespace {

using model::FieldRule;
using testing::ElementsAre;
using testing::IsEmpty;

#define EXPECT_PROBLEM(problems, text) EXPECT_THAT((problems), ElementsAre("/house/m.yaml:" text))

constexpr const char* kHead =
    "record: reading\n"
    "fields:\n"
    "  instrument: { value: A-0117 }\n"
    "  measured_at: { from: time }\n"
    "  finding: { from: result }\n";

// With one more field, which is line 6.
std::vector<std::string> problems_with_field(const std::string& line) {
  return problems_in_mapping(kHead + ("  " + line) + "\n");
}

model::Mapping mapping_of(const std::string& text) {
  MemoryFiles files = small_house(
      "site: a\nledger: { path: l.db }\nintakes:\n"
      "  - { name: a, folder: { path: in }, reader: r, mapping: m.yaml }\n");
  files.file("/house/m.yaml", text);
  return load("/house/girdled.yaml", files).settings.intakes.at(0).mapping;
}

FieldRule field_of(const std::string& line) {
  const model::Mapping mapping = mapping_of(kHead + ("  " + line) + "\n");
  return mapping.fields.empty() ? FieldRule() : mapping.fields.back();
}

TEST(Mapping, ReadsRulesInTheOrderOfTheFile) {
  const model::Mapping mapping = mapping_of(kHead);
  EXPECT_EQ(mapping.file, "/house/m.yaml");
  EXPECT_EQ(mapping.record, model::RecordKind::kReading);
  ASSERT_EQ(mapping.fields.size(), 3u);
  EXPECT_EQ(mapping.fields[0].field, "instrument");
  EXPECT_TRUE(mapping.fields[0].has_constant);
  EXPECT_EQ(mapping.fields[0].constant, "A-0117");
  EXPECT_EQ(mapping.fields[0].constant_mark.line, 3);
  EXPECT_EQ(mapping.fields[0].constant_mark.column, 24);
  EXPECT_EQ(mapping.fields[1].field, "measured_at");
  EXPECT_THAT(mapping.fields[1].from, ElementsAre("time"));
  EXPECT_EQ(mapping.fields[1].form, "");
  EXPECT_EQ(mapping.fields[2].mark.line, 5);
  EXPECT_EQ(mapping.fields[2].mark.column, 3);
}

TEST(Mapping, TakesRawFieldsAndWordsAsTheyStand) {
  EXPECT_THAT(field_of("run: { from: no }").from, ElementsAre("no"));
  EXPECT_THAT(field_of("run: { from: [on, 1, ~, null, 007] }").from,
              ElementsAre("on", "1", "~", "null", "007"));
  EXPECT_THAT(field_of("run: { from: null }").from, ElementsAre("null"));
  const FieldRule rule = field_of(
      "subject_kind: { from: k, words: { no: stone, 1: piece, -: parcel, ~: stone, \"\": stone, "
      "null: piece, 0117: stone } }");
  EXPECT_EQ(rule.words.size(), 7u);
  for (const char* word : {"no", "1", "-", "~", "", "null", "0117"}) {
    EXPECT_TRUE(rule.words.contains(word)) << word;
  }
  EXPECT_TRUE(rule.has_words);
}

TEST(Mapping, ReadsTimesAndNumbers) {
  const model::Mapping mapping = mapping_of(
      "record: declaration\n"
      "zone: Europe/Brussels\n"
      "twice: earlier\n"
      "fields:\n"
      "  stock_number: { from: item }\n"
      "  declared_at: { from: [d, t], form: \"%d.%m.%Y %H:%M\", zone: UTC, twice: later }\n"
      "  carat: { from: w, unit: mg, decimal: \",\", group: \" \" }\n"
      "  value: { from: v, group: \"'\" }\n"
      "  extra.shelf: { from: s }\n");
  EXPECT_EQ(mapping.record, model::RecordKind::kDeclaration);
  EXPECT_EQ(mapping.zone, "Europe/Brussels");
  EXPECT_EQ(mapping.twice, "earlier");
  ASSERT_EQ(mapping.fields.size(), 5u);
  EXPECT_EQ(mapping.fields[1].form, "%d.%m.%Y %H:%M");
  EXPECT_EQ(mapping.fields[1].zone, "UTC");
  EXPECT_EQ(mapping.fields[1].twice, "later");
  EXPECT_EQ(mapping.fields[2].unit, "mg");
  EXPECT_EQ(mapping.fields[2].decimal_mark, ',');
  EXPECT_EQ(mapping.fields[2].group_mark, ' ');
  EXPECT_EQ(mapping.fields[3].group_mark, '\'');
  EXPECT_EQ(mapping.fields[3].unit, "");
  EXPECT_EQ(mapping.fields[4].field, "extra.shelf");
}

TEST(Mapping, ReadsScans) {
  EXPECT_EQ(mapping_of("record: scan\nfields:\n  bench: { value: counter-1 }\n"
                       "  stock_number: { from: code }\n  scanned_at: { from: t, form: unix_ms }\n")
                .record,
            model::RecordKind::kScan);
}

TEST(Mapping, NamesTheRecordsThatThisVersionReads) {
  EXPECT_PROBLEM(
      problems_in_mapping("record: lab_report\nfields: {}\n"),
      "1:9: record: this version reads reading, declaration and scan, not \"lab_report\"");
  EXPECT_PROBLEM(problems_in_mapping("record: readings\nfields: {}\n"),
                 "1:9: record: this version reads reading, declaration and scan, not \"readings\"; "
                 "did you mean \"reading\"?");
  EXPECT_PROBLEM(problems_in_mapping("fields: {}\n"),
                 "1:1: the mapping needs the key \"record\": reading, declaration or scan");
  EXPECT_PROBLEM(problems_in_mapping("- a\n"), "1:1: the mapping must be a map of keys and values");
}

TEST(Mapping, NeedsTheFieldsOfItsRecord) {
  EXPECT_THAT(
      problems_in_mapping("record: reading\nfields:\n  run: { from: no }\n"),
      ElementsAre("/house/m.yaml:3:3: a reading needs the key \"instrument\" (The "
                  "instrument's serial number)",
                  "/house/m.yaml:3:3: a reading needs the key \"measured_at\" (When it was "
                  "measured)",
                  "/house/m.yaml:3:3: a reading needs the key \"finding\" (What the reading "
                  "asserts)"));
  EXPECT_PROBLEM(
      problems_in_mapping("record: declaration\nfields: {}\n"),
      "2:9: a declaration needs the key \"stock_number\" (The house's key of the subject; "
      "`STOCK#2` is a stone of a piece)");
  EXPECT_EQ(problems_in_mapping("record: scan\nfields: {}\n").size(), 3u);
}

TEST(Mapping, NamesTheNearestField) {
  EXPECT_PROBLEM(problems_with_field("stocknumber: { from: a }"),
                 "6:3: a reading has no key \"stocknumber\"; did you mean \"stock_number\"?");
  EXPECT_PROBLEM(problems_in_mapping("record: scan\nfields:\n  bench: { value: b }\n"
                                     "  stock_number: { from: c }\n  scanned_at: { from: t }\n"
                                     "  extra.shelf: { from: s }\n"),
                 "6:3: a scan has no key \"extra.shelf\"; it has bench, stock_number, position and "
                 "scanned_at");
  EXPECT_THAT(problems_with_field("extra.: { from: a }"),
              ElementsAre(testing::EndsWith("humidity_pct, operator, note and extra.NAME")));
}

TEST(Mapping, NeedsARawFieldOrAConstantAndNotBoth) {
  EXPECT_PROBLEM(problems_with_field("run: { from: a, value: b }"),
                 "6:8: run needs exactly one of from and value; it has from and value");
  EXPECT_PROBLEM(problems_with_field("run: {}"),
                 "6:8: run needs exactly one of from and value; it has none");
  EXPECT_PROBLEM(problems_with_field("extra.shelf: {}"),
                 "6:16: extra.shelf needs exactly one of from and value; it has none");
  EXPECT_PROBLEM(problems_with_field("run: no"),
                 "6:8: run: it must be a map of keys and values, not \"no\"");
}

TEST(Mapping, JoinsOneToEightRawFields) {
  EXPECT_THAT(problems_with_field("run: { from: [1, 2, 3, 4, 5, 6, 7, 8] }"), IsEmpty());
  EXPECT_PROBLEM(
      problems_with_field("run: { from: [1, 2, 3, 4, 5, 6, 7, 8, 9] }"),
      "6:16: from: it must be the name of a raw field, or a list of one to eight of them, "
      "not a list of 9");
  EXPECT_PROBLEM(problems_with_field("run: { from: [a, \"\"] }"),
                 "6:20: from: each must be the name of a raw field, not \"\"");
  EXPECT_PROBLEM(
      problems_with_field("run: { from: [] }"),
      "6:16: from: it must be the name of a raw field, or a list of one to eight of them, "
      "not an empty list");
}

TEST(Mapping, KnowsTheWordsOfAField) {
  EXPECT_PROBLEM(
      problems_in_mapping("record: reading\nfields:\n"
                          "  instrument: { value: A }\n  measured_at: { from: t }\n"
                          "  finding: { from: r, words: { A: naturel, B: void } }\n"),
      "5:35: finding: it must be natural, laboratory_grown, treated, composite, simulant, "
      "indeterminate or void, not \"naturel\"; did you mean \"natural\"?");
  EXPECT_PROBLEM(problems_with_field("diamond_type: { from: t, words: { 1: IIc } }"),
                 "6:40: diamond_type: it must be Ia, Ib, IIa or IIb, not \"IIc\"; did you mean "
                 "\"IIa\"?");
  EXPECT_PROBLEM(problems_with_field("subject_kind: { value: ring }"),
                 "6:26: subject_kind: it must be stone, piece or parcel, not \"ring\"");
  EXPECT_PROBLEM(problems_in_mapping("record: declaration\nfields:\n  stock_number: { from: s }\n"
                                     "  identity: { from: i, words: { x: void } }\n"),
                 "4:36: identity: it must be natural, laboratory_grown, treated, composite or "
                 "simulant, not \"void\"");
}

TEST(Mapping, HasTheWordsOfTheModel) {
  const auto words = [](size_t record, const char* field) {
    return kMappingKeys[record].find("fields")->map->find(field)->choices;
  };
  EXPECT_EQ(words(0, "finding").size(), static_cast<size_t>(model::kFindings));
  for (const auto word : words(0, "finding")) EXPECT_TRUE(model::finding_of(word)) << word;
  for (const auto word : words(0, "diamond_type"))
    EXPECT_TRUE(model::diamond_type_of(word)) << word;
  for (const auto word : words(0, "subject_kind"))
    EXPECT_TRUE(model::subject_kind_of(word)) << word;
  for (const auto word : words(1, "identity")) EXPECT_TRUE(model::finding_of(word)) << word;
  EXPECT_EQ(words(0, "diamond_type").size(), 4u);
  EXPECT_EQ(words(0, "subject_kind").size(), 3u);
  EXPECT_EQ(words(1, "identity").size(), 5u);
}

TEST(Mapping, KnowsTheUnitsOfAField) {
  EXPECT_PROBLEM(problems_with_field("carat: { from: w, unit: kg }"),
                 "6:27: unit: it must be ct, g or mg, not \"kg\"");
  EXPECT_PROBLEM(problems_with_field("table_mm: { from: w, unit: C }"),
                 "6:30: unit: it must be mm, um or in, not \"C\"");
  EXPECT_PROBLEM(problems_with_field("run: { from: w, unit: mm }"),
                 "6:19: run has no key \"unit\"; it has from, value and words");
  EXPECT_THAT(problems_with_field("confidence: { from: c, unit: 1 }"), IsEmpty());
}

TEST(Mapping, KnowsMarksOfNumbers) {
  EXPECT_PROBLEM(problems_with_field("carat: { from: w, decimal: \";\" }"),
                 "6:30: decimal: it must be \".\" or \",\", not \";\"");
  EXPECT_PROBLEM(problems_with_field("carat: { from: w, decimal: \",\", group: \",\" }"),
                 "6:42: group: it must be another mark than the decimal mark, \",\"");
  EXPECT_PROBLEM(problems_with_field("carat: { from: w, group: . }"),
                 "6:28: group: it must be another mark than the decimal mark, \".\"");
  EXPECT_PROBLEM(problems_with_field("carat: { from: w, group: _ }"),
                 "6:28: group: it must be \".\", \",\", \"'\" or \" \", not \"_\"");
}

TEST(Mapping, KnowsFormsZonesAndTheHourThatComesTwice) {
  const auto with_time = [](const std::string& rest) {
    return problems_in_mapping(
        "record: reading\nfields:\n  instrument: { value: A }\n"
        "  finding: { from: r }\n  measured_at: { from: t, " +
        rest + " }\n");
  };
  EXPECT_PROBLEM(with_time("twice: first"),
                 "5:34: twice: it must be earlier or later, not \"first\"");
  const auto form = with_time("form: \"%Q\"");
  ASSERT_EQ(form.size(), 1u);
  EXPECT_THAT(form[0], testing::StartsWith("/house/m.yaml:5:33: form: "));
  EXPECT_THAT(form[0], testing::HasSubstr("%Q"));
  const auto zone = with_time("zone: Europe/Brussel");
  ASSERT_EQ(zone.size(), 1u);
  EXPECT_THAT(zone[0], testing::StartsWith("/house/m.yaml:5:33: zone: "));
  EXPECT_PROBLEM(problems_with_field("run: { from: a, form: unix }"),
                 "6:19: run has no key \"form\"; it has from, value and words");
}

TEST(Mapping, ChecksConstants) {
  EXPECT_PROBLEM(problems_with_field("carat: { value: heavy }"),
                 "6:19: value: it must be a number, not \"heavy\"");
  EXPECT_THAT(problems_with_field("carat: { value: 0.5 }"), IsEmpty());
  EXPECT_PROBLEM(problems_in_mapping("record: reading\nfields:\n  instrument: { value: \"\" }\n"
                                     "  measured_at: { from: t }\n  finding: { from: r }\n"),
                 "3:24: value: instrument has to be there, and this is an empty text");
  EXPECT_PROBLEM(problems_with_field("run: { value: a, words: { b: c } }"),
                 "6:17: value: \"a\" is not among the words");
}

TEST(Mapping, TellsAConstantThatIsNothingOnce) {
  EXPECT_PROBLEM(problems_in_mapping("record: reading\nfields:\n  instrument: { value: }\n"
                                     "  measured_at: { from: t }\n  finding: { from: r }\n"),
                 "3:17: value: it must be a text, not nothing");
}

TEST(Mapping, KeepsTheRulesThatAreRightBesideThoseThatAreWrong) {
  const auto intake_of = [](const std::string& mapping) {
    MemoryFiles files = small_house(
        "site: a\nledger: { path: l.db }\nintakes:\n"
        "  - { name: a, folder: { path: in }, reader: r, mapping: m.yaml }\n");
    files.file("/house/m.yaml", mapping);
    return load("/house/girdled.yaml", files).settings.intakes.at(0);
  };
  EXPECT_TRUE(intake_of(kHead).mapping_whole);
  const Intake intake =
      intake_of(kHead + std::string("  run: { value: a, unit: mm }\n  carat: { value: heavy }\n"
                                    "  note: { from: n }\n  weight: { from: w }\n"));
  EXPECT_FALSE(intake.mapping_whole);
  ASSERT_EQ(intake.mapping.fields.size(), 4u);
  EXPECT_EQ(intake.mapping.fields[3].field, "note");
  EXPECT_FALSE(intake_of("record: readin\nfields: {}\n").mapping_whole);
  EXPECT_FALSE(intake_of("- a\n").mapping_whole);
  EXPECT_FALSE(intake_of("").mapping_whole);
}

TEST(Mapping, IsReadOnceForSeveralIntakes) {
  MemoryFiles files = small_house(
      "site: a\nledger: { path: l.db }\nintakes:\n"
      "  - { name: a, folder: { path: in }, reader: r, mapping: m.yaml }\n"
      "  - { name: b, folder: { path: in2 }, reader: r, mapping: ./m.yaml }\n");
  EXPECT_EQ(load("/house/girdled.yaml", files).settings.intakes.at(1).mapping.fields.size(), 3u);
  EXPECT_TRUE(load("/house/girdled.yaml", files).settings.intakes.at(1).mapping_whole);
  files.file("/house/m.yaml", "record: lab_report\n");
  EXPECT_EQ(problems_in(files).size(), 1u);
}

}  // namespace
}  // namespace girdle::config
