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

TEST(Mapping, ReadsPatternsFoldsAndDefaults) {
  const FieldRule rule = field_of(
      "operator: { from: [a, b], join: \"\", match: '(?P<who>\\w+)', take: '\\g<who>', "
      "words: { eve: e }, fold: [case, space], default: nobody }");
  EXPECT_THAT(rule.from, ElementsAre("a", "b"));
  EXPECT_EQ(rule.join, "");
  EXPECT_EQ(rule.match, "(?P<who>\\w+)");
  EXPECT_EQ(rule.match_mark.line, 6);
  EXPECT_EQ(rule.match_mark.column, 46);
  EXPECT_EQ(rule.take, "\\g<who>");
  EXPECT_EQ(rule.take_mark.column, 68);
  EXPECT_TRUE(rule.fold_case && rule.fold_space);
  EXPECT_EQ(rule.default_value, "nobody");
  EXPECT_EQ(rule.default_mark.column, 128);
  const FieldRule plain = field_of("operator: { from: a }");
  EXPECT_EQ(plain.join, " ");
  EXPECT_EQ(plain.match + plain.take + plain.default_value, "");
  EXPECT_FALSE(plain.fold_case || plain.fold_space);
  const FieldRule one =
      field_of("extra.lamp: { from: a, words: { a: b }, fold: case, default: x }");
  EXPECT_TRUE(one.fold_case && !one.fold_space);
  EXPECT_EQ(one.default_value, "x");
}

TEST(Mapping, ReadsSectionsInTheOrderOfTheFile) {
  const model::Mapping mapping = mapping_of(
      "zone: Europe/Brussels\n"
      "records:\n"
      "  - when: { kind: R, ~: [\"\", null, 007] }\n"
      "    record: reading\n"
      "    fields:\n"
      "      instrument: { value: A-0117 }\n"
      "      measured_at: { from: time }\n"
      "      finding: { from: result }\n"
      "  - { when: { kind: [H, L] }, ignore: header and trailer lines }\n"
      "  - { record: declaration, fields: { stock_number: { from: item } } }\n");
  EXPECT_EQ(mapping.zone, "Europe/Brussels");
  EXPECT_TRUE(mapping.fields.empty());
  ASSERT_EQ(mapping.sections.size(), 3u);
  const model::RecordSection& readings = mapping.sections[0];
  EXPECT_EQ(readings.mark.line, 3);
  EXPECT_EQ(readings.record, model::RecordKind::kReading);
  ASSERT_EQ(readings.when.size(), 2u);
  EXPECT_EQ(readings.when[0].field, "kind");
  EXPECT_THAT(readings.when[0].texts, ElementsAre("R"));
  EXPECT_EQ(readings.when[1].field, "~");
  EXPECT_THAT(readings.when[1].texts, ElementsAre("", "null", "007"));
  EXPECT_EQ(readings.fields.size(), 3u);
  EXPECT_EQ(readings.fields[2].field, "finding");
  EXPECT_EQ(mapping.sections[1].ignore, "header and trailer lines");
  EXPECT_THAT(mapping.sections[1].when[0].texts, ElementsAre("H", "L"));
  EXPECT_EQ(mapping.sections[2].record, model::RecordKind::kDeclaration);
  EXPECT_TRUE(mapping.sections[2].when.empty());
  EXPECT_TRUE(mapping.makes(model::RecordKind::kReading));
  EXPECT_TRUE(mapping.makes(model::RecordKind::kDeclaration));
  EXPECT_FALSE(mapping.makes(model::RecordKind::kScan));
}

// With these sections, the first of which begins on line 2.
std::vector<std::string> problems_in_sections(const std::string& sections) {
  return problems_in_mapping("records:\n" + sections);
}

constexpr const char* kReadings =
    "  - when: { kind: R }\n"
    "    record: reading\n"
    "    fields: { instrument: { value: A }, measured_at: { from: t }, finding: { from: f } }\n";

TEST(Mapping, TellsWhatIsWrongWithASection) {
  EXPECT_THAT(problems_in_sections(kReadings), IsEmpty());
  EXPECT_PROBLEM(problems_in_mapping("records: []\n"),
                 "1:10: records: it must be a list of sections, each a map of keys and values "
                 "after a dash, not an empty list");
  EXPECT_PROBLEM(problems_in_mapping("records: reading\n"),
                 "1:10: records: it must be a list of sections, each a map of keys and values "
                 "after a dash, not \"reading\"");
  EXPECT_PROBLEM(problems_in_mapping("record: reading\nrecords:\n" + std::string(kReadings)),
                 "1:1: the mapping has no key \"record\"; did you mean \"records\"?");
  EXPECT_PROBLEM(problems_in_sections("  - R\n"),
                 "2:5: records: each must be a section, a map of keys and values");
  EXPECT_PROBLEM(problems_in_sections("  - when: { kind: R }\n"),
                 "2:5: a section needs the key \"record\" (reading, declaration or scan), or "
                 "\"ignore\" (why its records are no results)");
  EXPECT_PROBLEM(problems_in_sections("  - { record: readin, fields: {} }\n"),
                 "2:15: record: this version reads reading, declaration and scan, not \"readin\"; "
                 "did you mean \"reading\"?");
  EXPECT_PROBLEM(problems_in_sections(std::string(kReadings) +
                                      "  - { when: { kind: H }, ignore: no, record: scan }\n"),
                 "5:34: ignore: a section makes records, or ignores them, and not both");
  EXPECT_PROBLEM(problems_in_sections(std::string(kReadings) + "  - { ignore: the rest }\n"),
                 "5:5: a section needs the key \"when\" (Which raw records, as in any section)");
  EXPECT_PROBLEM(problems_in_sections(std::string(kReadings) +
                                      "  - { when: { kind: H }, ignore: x, fields: {} }\n"),
                 "5:37: a section has no key \"fields\"; it has when and ignore");
  EXPECT_THAT(
      problems_in_sections("  - { record: declaration, fields: { stocknumber: { from: a } } }\n"),
      ElementsAre(
          "/house/m.yaml:2:36: a declaration needs the key \"stock_number\" (The house's key "
          "of the subject; `STOCK#2` is a stone of a piece)",
          "/house/m.yaml:2:38: a declaration has no key \"stocknumber\"; did you mean "
          "\"stock_number\"?"));
}

TEST(Mapping, TellsWhatIsWrongWithATest) {
  const auto with_test = [](const std::string& test) {
    return problems_in_sections("  - { when: " + test +
                                ", record: declaration, fields: { stock_number: { from: a } } }\n");
  };
  EXPECT_THAT(with_test("{ kind: \"\", b: [c] }"), IsEmpty());
  EXPECT_PROBLEM(with_test("{}"),
                 "2:13: when: it must be a map of raw fields, each with a text or a list of texts, "
                 "not a map");
  EXPECT_PROBLEM(with_test("R"),
                 "2:13: when: it must be a map of raw fields, each with a text or a list of texts, "
                 "not \"R\"");
  EXPECT_PROBLEM(with_test("{ kind: [] }"),
                 "2:21: when: \"kind\" must have a text or a list of texts, not an empty list");
  EXPECT_PROBLEM(with_test("{ kind: [a, [b]] }"),
                 "2:21: when: \"kind\" must have a text or a list of texts, not a list of 2");
  EXPECT_PROBLEM(with_test("{ kind: { a: b } }"),
                 "2:21: when: \"kind\" must have a text or a list of texts, not a map");
  EXPECT_PROBLEM(with_test("{ kind: \"R \" }"),
                 "2:21: when: the white space at the ends of \"R \" is never there: raw texts lose "
                 "theirs");
}

TEST(Mapping, TellsSectionsThatTakeNothing) {
  const std::string ignored = "  - { when: { kind: [H, L], b: c }, ignore: lines }\n";
  EXPECT_THAT(problems_in_sections(kReadings + ignored), IsEmpty());
  EXPECT_THAT(
      problems_in_sections(kReadings + ignored + "  - { when: { kind: [H, L] }, ignore: x }\n"),
      IsEmpty());
  EXPECT_PROBLEM(problems_in_sections(kReadings + ignored +
                                      "  - { when: { b: c, kind: H, d: e }, ignore: x }\n"),
                 "6:5: records: this section takes nothing: the one in line 5 takes all that it "
                 "would take");
  EXPECT_PROBLEM(
      problems_in_sections("  - { record: declaration, fields: { stock_number: { from: a } } }\n" +
                           ignored),
      "3:5: records: this section takes nothing: the one in line 2 takes all that it "
      "would take");
  EXPECT_PROBLEM(problems_in_sections(ignored),
                 "2:3: records: all sections ignore their records, and none makes any");
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
  EXPECT_PROBLEM(
      problems_with_field("run: { from: w, unit: mm }"),
      "6:19: run has no key \"unit\"; it has from, join, value, gs1, match, take, words and fold");
  EXPECT_THAT(problems_with_field("confidence: { from: c, unit: 1 }"), IsEmpty());
  EXPECT_THAT(problems_with_field("humidity_pct: { from: h, unit: 1 }"), IsEmpty());
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
  EXPECT_PROBLEM(
      problems_with_field("run: { from: a, form: unix }"),
      "6:19: run has no key \"form\"; it has from, join, value, gs1, match, take, words and fold");
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

TEST(Mapping, TellsWordsThatAreOneAfterFolding) {
  const auto with = [](const std::string& words) {
    return problems_with_field("color: { from: c, words: " + words + " }");
  };
  EXPECT_THAT(with("{ a: D, A: D }"), IsEmpty());
  EXPECT_PROBLEM(with("{ a: D, b: E, A: D }, fold: case"),
                 "6:42: words: \"A\" and \"a\" are one word after folding; keep one of them");
  EXPECT_PROBLEM(
      with("{ \"a b\": D, \" a   b\": E }, fold: space"),
      "6:40: words: \" a   b\" and \"a b\" are one word after folding; keep one of them");
  EXPECT_THAT(with("{ \"a b\": D, \"ab\": E, \"A B\": F }, fold: space"), IsEmpty());
  EXPECT_PROBLEM(with("{ a: D }, fold: [case, spaces]"),
                 "6:51: fold: each must be case or space, not \"spaces\"");
  EXPECT_PROBLEM(with("{ a: D }, fold: Case"),
                 "6:44: fold: it must be case or space, or a list of them, not \"Case\"; did you "
                 "mean \"case\"?");
  EXPECT_PROBLEM(with("{ a: D }, fold: []"),
                 "6:44: fold: it must be case or space, or a list of them, not an empty list");
  EXPECT_PROBLEM(problems_with_field("color: { from: c, fold: case }"),
                 "6:21: fold: it goes with the key \"words\", which is not there");
  EXPECT_THAT(problems_with_field("color: { value: grün, words: { GRÜN: G }, fold: case }"),
              IsEmpty());
}

TEST(Mapping, LetsAWordMeanNoValueWhereTheFieldMayBeLeftOut) {
  EXPECT_THAT(problems_with_field("diamond_type: { from: t, words: { n/a: \"\", 2a: IIa } }"),
              IsEmpty());
  EXPECT_PROBLEM(problems_in_mapping("record: reading\nfields:\n  instrument: { value: A }\n"
                                     "  measured_at: { from: t }\n"
                                     "  finding: { from: r, words: { x: \"\" } }\n"),
                 "5:35: finding: it must be natural, laboratory_grown, treated, composite, "
                 "simulant, indeterminate or void, not \"\"");
}

TEST(Mapping, ReadsApplicationIdentifiersAsTheyStand) {
  const FieldRule one = field_of("run: { from: a, gs1: 01 }");
  EXPECT_THAT(one.gs1, ElementsAre("01"));
  EXPECT_EQ(one.gs1_mark.line, 6);
  EXPECT_EQ(one.gs1_mark.column, 24);
  EXPECT_THAT(field_of("run: { from: a, gs1: [8004, \"21\"] }").gs1, ElementsAre("8004", "21"));
  EXPECT_THAT(field_of("run: { from: a }").gs1, IsEmpty());
}

TEST(Mapping, KnowsTheApplicationIdentifiers) {
  EXPECT_PROBLEM(problems_with_field("run: { from: a, gs1: 89 }"),
                 "6:24: gs1: it must be an application identifier of GS1, such as 21 or 8004, or a "
                 "list of one to eight of them, not \"89\"");
  EXPECT_PROBLEM(problems_with_field("run: { from: a, gs1: [21, 1] }"),
                 "6:29: gs1: each must be an application identifier of GS1, such as 21 or 8004, "
                 "not \"1\"");
  EXPECT_PROBLEM(problems_with_field("run: { from: a, gs1: [] }"),
                 "6:24: gs1: it must be an application identifier of GS1, such as 21 or 8004, or a "
                 "list of one to eight of them, not an empty list");
  EXPECT_PROBLEM(problems_with_field("run: { value: a, gs1: 21 }"),
                 "6:20: gs1: it goes with the key \"from\", which is not there");
}

TEST(Mapping, KnowsWhatGoesWithAPatternAndWithSeveralRawFields) {
  EXPECT_PROBLEM(problems_with_field("run: { from: a, take: '\\1' }"),
                 "6:19: take: it goes with the key \"match\", which is not there");
  EXPECT_PROBLEM(problems_with_field("run: { value: a, match: a }"),
                 "6:20: match: it goes with the key \"from\", which is not there");
  EXPECT_PROBLEM(problems_with_field("run: { from: a, match: \"\" }"),
                 "6:26: match: it must be a text that is not empty, not \"\"");
  EXPECT_PROBLEM(problems_with_field("run: { from: [a], join: \"-\" }"),
                 "6:27: join: it stands between several raw fields, and this is one");
  EXPECT_PROBLEM(problems_with_field("run: { value: a, join: \"-\" }"),
                 "6:20: join: it goes with the key \"from\", which is not there");
  EXPECT_THAT(problems_with_field("run: { from: [a, b], join: \"\" }"), IsEmpty());
}

// Constants say openly what no record gave; a default must not decide what was found, when, by
// which instrument, or whose it is.
TEST(Mapping, HasDefaultsOnlyForWhatDecidesNothing) {
  for (const char* field : {"subject_kind", "diamond_type", "confidence", "carat", "color", "shape",
                            "table_mm", "length_mm", "width_mm", "depth_mm", "temperature_c",
                            "humidity_pct", "operator", "note", "extra.lamp"}) {
    const std::string value = field == std::string("subject_kind")   ? "stone"
                              : field == std::string("diamond_type") ? "IIa"
                                                                     : "0.5";
    EXPECT_THAT(problems_with_field(field + (": { from: a, default: " + value + " }")), IsEmpty());
  }
  for (const char* field : {"run", "stock_number", "position"}) {
    EXPECT_THAT(problems_with_field(field + std::string(": { from: a, default: b }")),
                ElementsAre(testing::HasSubstr(field + std::string(" has no key \"default\""))));
  }
  EXPECT_THAT(problems_in_mapping("record: reading\nfields:\n"
                                  "  instrument: { from: i, default: A }\n"
                                  "  measured_at: { from: t, default: \"2026-11-02T10:15:30Z\" }\n"
                                  "  finding: { from: r, default: natural }\n"),
              ElementsAre(testing::HasSubstr("3:26: instrument has no key \"default\""),
                          testing::HasSubstr("4:27: measured_at has no key \"default\""),
                          testing::HasSubstr("5:23: finding has no key \"default\"")));
  EXPECT_THAT(
      problems_in_mapping("record: declaration\nfields: { stock_number: { from: s }, "
                          "carat: { from: c, default: 1 }, extra.a: { from: a, default: b } }\n"),
      ElementsAre(testing::HasSubstr("carat has no key \"default\""),
                  testing::HasSubstr("extra.a has no key \"default\"")));
}

TEST(Mapping, ChecksDefaults) {
  EXPECT_PROBLEM(problems_with_field("carat: { from: a, default: heavy }"),
                 "6:30: default: it must be a number, not \"heavy\"");
  EXPECT_PROBLEM(problems_with_field("subject_kind: { from: a, words: { s: stone }, default: s }"),
                 "6:58: subject_kind: it must be stone, piece or parcel, not \"s\"");
  EXPECT_PROBLEM(
      problems_with_field("note: { from: a, default: \"\" }"),
      "6:29: default: it must be a text in one line of at most 200 bytes, without blanks "
      "around it, not \"\"");
  EXPECT_THAT(problems_with_field("note: { from: a, default: \" b\" }"),
              ElementsAre(testing::HasSubstr("without blanks around it, not \" b\"")));
  EXPECT_PROBLEM(
      problems_with_field("note: { from: a, default: ~ }"),
      "6:29: default: it must be a text in one line of at most 200 bytes, without blanks "
      "around it, not ~");
  EXPECT_PROBLEM(problems_with_field("note: { value: a, default: b }"),
                 "6:21: default: it goes with the key \"from\", which is not there");
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
