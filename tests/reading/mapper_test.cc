#include "reading/mapper.h"

#include <gmock/gmock.h>

#include <cstring>

#include "base/time.h"
#include "reading/mappings.h"
#include "reading/pattern.h"
#include "reading/record_fields.h"

namespace girdle::reading {
namespace {

using model::Finding;
using testing::HasSubstr;
using Fields = std::vector<std::pair<std::string, std::string>>;

Mapper compiled(const model::Mapping& mapping, bool sparse = false,
                std::string_view zone = "Europe/Brussels") {
  auto mapper = Mapper::compile(mapping, zone, sparse);
  EXPECT_TRUE(mapper) << mapper.error().text;
  return mapper ? std::move(mapper).value() : *Mapper::compile(reading_mapping(), zone, sparse);
}

std::string compile_error(const model::Mapping& mapping,
                          std::string_view zone = "Europe/Brussels") {
  const auto mapper = Mapper::compile(mapping, zone, false);
  return mapper ? "compiles" : mapper.error().text;
}

// What became of one record.
struct Outcome {
  model::Records records;
  std::string reason;

  const model::Reading& reading() const {
    static const model::Reading kNone;
    EXPECT_EQ(records.readings.size(), 1u) << reason;
    return records.readings.empty() ? kNone : records.readings.front();
  }
  const model::Declaration& declaration() const {
    static const model::Declaration kNone;
    EXPECT_EQ(records.declarations.size(), 1u) << reason;
    return records.declarations.empty() ? kNone : records.declarations.front();
  }
};

Outcome mapped(Mapper& mapper, Fields fields) {
  Outcome outcome;
  const auto applied =
      mapper.apply(RawRecord(std::move(fields)).lent(), 1, outcome.records, outcome.reason);
  EXPECT_EQ(applied == Mapper::Applied::kMade, outcome.records.size() == 1);
  EXPECT_EQ(applied == Mapper::Applied::kRefused, !outcome.reason.empty());
  EXPECT_EQ(applied == Mapper::Applied::kIgnored, !outcome.records.ignored.empty());
  return outcome;
}

Outcome mapped(const model::Mapping& mapping, Fields fields, bool sparse = false) {
  Mapper mapper = compiled(mapping, sparse);
  return mapped(mapper, std::move(fields));
}

// The record at 10:15:30, natural, and more.
Fields record(Fields more = {}) {
  Fields fields = {{"at", "2026-11-02T10:15:30Z"}, {"result", "A"}};
  for (auto& field : more) fields.push_back(std::move(field));
  return fields;
}

TEST(Mapper, MakesAReadingOfARecord) {
  const Outcome outcome = mapped(
      reading_mapping(
          {from("run", {"no"}), from("stock_number", {"item"}), from("subject_kind", {"kind"}),
           from("diamond_type", {"type"}), from("confidence", {"conf"}), from("carat", {"weight"}),
           from("color", {"col"}), from("shape", {"cut"}), from("table_mm", {"table"}),
           from("temperature_c", {"temp"}), from("humidity_pct", {"rh"}), from("operator", {"who"}),
           from("note", {"remark"}), from("extra.lamp", {"lamp"}), from("extra.firmware", {"fw"})}),
      record({{"no", "17"},
              {"item", " R1042 "},
              {"kind", "stone"},
              {"type", "IIa"},
              {"conf", "0.98"},
              {"weight", "1.01"},
              {"col", "G"},
              {"cut", "round"},
              {"table", "3.60"},
              {"temp", "21.5"},
              {"rh", "40"},
              {"who", "eve"},
              {"remark", "x\ny"},
              {"lamp", "3"},
              {"fw", "2.1"},
              {"unused", "?"}}));
  const model::Reading& reading = outcome.reading();
  EXPECT_EQ(reading.instrument, "A-0117");
  EXPECT_EQ(reading.run, "17");
  EXPECT_EQ(base::format_rfc3339(reading.measured_at), "2026-11-02T10:15:30.000Z");
  EXPECT_EQ(reading.stock_number, "R1042");
  EXPECT_EQ(reading.subject_kind, model::SubjectKind::kStone);
  EXPECT_EQ(reading.finding, Finding::kNatural);
  EXPECT_EQ(reading.diamond_type, model::DiamondType::kIIa);
  EXPECT_EQ(reading.confidence, base::Decimal::parse("0.98"));
  EXPECT_EQ(reading.carat, base::Decimal::parse("1.01"));
  EXPECT_EQ(reading.color + reading.shape + reading.operator_name + reading.note, "Groundevex\ny");
  EXPECT_EQ(reading.table_mm, base::Decimal::parse("3.6"));
  EXPECT_EQ(reading.temperature_c, base::Decimal::parse("21.5"));
  EXPECT_EQ(reading.humidity_pct, base::Decimal(40));
  EXPECT_EQ(reading.extra, (Fields{{"firmware", "2.1"}, {"lamp", "3"}}));  // sorted by name
  EXPECT_EQ(reading.place, (model::Place{10, 5, 2}));
  EXPECT_EQ(reading.time_rule, "");
}

TEST(Mapper, TakesAnEmptyOptionalFieldAsAbsent) {
  const Outcome outcome = mapped(
      reading_mapping({from("carat", {"weight"}), from("run", {"no"}), from("extra.x", {"x"})}),
      record({{"weight", " "}, {"no", ""}, {"x", "\t"}}));
  EXPECT_EQ(outcome.reading().carat, std::nullopt);
  EXPECT_EQ(outcome.reading().run, "");
  EXPECT_TRUE(outcome.reading().extra.empty());
}

TEST(Mapper, RefusesAnEmptyRequiredField) {
  EXPECT_EQ(mapped(reading_mapping(), {{"at", ""}, {"result", "A"}}).reason,
            "column \"at\" is empty, and measured_at has to be there");
  EXPECT_EQ(mapped(reading_mapping(), {{"at", "2026-11-02T10:15:30Z"}, {"result", " "}}).reason,
            "column \"result\" is empty, and finding has to be there");
}

TEST(Mapper, RefusesAWordThatTheMappingDoesNotHave) {
  EXPECT_EQ(
      mapped(reading_mapping(), {{"at", "2026-11-02T10:15:30Z"}, {"result", "Q"}}).reason,
      "column \"result\" holds \"Q\", which the mapping has no word for (it has -, A, B and C)");
  EXPECT_THAT(mapped(reading_mapping(), {{"at", "2026-11-02T10:15:30Z"}, {"result", "a"}}).reason,
              HasSubstr("\"a\""));
}

TEST(Mapper, TakesAnEmptyTextAsAWordWhereTheMappingSaysSo) {
  model::Mapping mapping = reading_mapping();
  mapping.fields[2].words[""] = "void";
  EXPECT_EQ(mapped(mapping, {{"at", "2026-11-02T10:15:30Z"}, {"result", ""}}).reading().finding,
            Finding::kVoid);
}

TEST(Mapper, TakesAWordForNoValueWhereTheMappingSaysSo) {
  const auto mapping =
      reading_mapping({words(from("diamond_type", {"type"}), {{"n/a", ""}, {"2a", "IIa"}})});
  EXPECT_EQ(mapped(mapping, record({{"type", "n/a"}})).reading().diamond_type, std::nullopt);
  EXPECT_EQ(mapped(mapping, record({{"type", "2a"}})).reading().diamond_type,
            model::DiamondType::kIIa);
  EXPECT_THAT(mapped(mapping, record({{"type", "1a"}})).reason, HasSubstr("no word for"));
}

TEST(Mapper, NeedsOurOwnWordsWhereTheMappingHasNone) {
  model::Mapping mapping = reading_mapping();
  mapping.fields[2] = from("finding", {"result"});
  EXPECT_EQ(mapped(mapping, {{"at", "2026-11-02T10:15:30Z"}, {"result", "laboratory_grown"}})
                .reading()
                .finding,
            Finding::kLaboratoryGrown);
  EXPECT_EQ(mapped(mapping, {{"at", "2026-11-02T10:15:30Z"}, {"result", "Natural"}}).reason,
            "column \"result\" holds \"Natural\", which is not natural, laboratory_grown, treated, "
            "composite, simulant, "
            "indeterminate or void; the mapping can translate it with  words");
}

TEST(Mapper, NamesTheColumnOfANumberThatItCannotRead) {
  EXPECT_EQ(mapped(reading_mapping({from("carat", {"weight"})}), record({{"weight", "0"}})).reason,
            "column \"weight\" holds \"0\", which must be more than 0");
  EXPECT_THAT(
      mapped(reading_mapping({from("table_mm", {"table"})}), record({{"table", "-1"}})).reason,
      HasSubstr("must be more than 0"));
  const auto comma = reading_mapping({number(from("temperature_c", {"temp"}), "F", ',')});
  EXPECT_EQ(mapped(comma, record({{"temp", "70,0"}})).reading().temperature_c,
            base::Decimal::parse("21.1111"));
}

TEST(Mapper, JoinsColumnsByOneSpace) {
  model::Mapping mapping = reading_mapping();
  mapping.fields[1] = time(from("measured_at", {"date", "time"}), "%d.%m.%Y %H:%M:%S");
  EXPECT_EQ(base::format_rfc3339(
                mapped(mapping, {{"time", " 10:15:30"}, {"result", "A"}, {"date", "02.11.2026"}})
                    .reading()
                    .measured_at),
            "2026-11-02T09:15:30.000Z");  // Brussels, winter
  EXPECT_EQ(mapped(mapping, {{"time", "10:15"}, {"result", "A"}, {"date", "02.11.2026"}}).reason,
            "column \"date\" with \"time\" holds \"02.11.2026 10:15\": does not have the form "
            "\"%d.%m.%Y %H:%M:%S\"");
}

TEST(Mapper, JoinsColumnsByTheSeparatorThatTheMappingNames) {
  const auto joined_by = [](std::string separator, std::string a, std::string b) {
    return mapped(reading_mapping({joined(from("stock_number", {"a", "b"}), std::move(separator))}),
                  record({{"a", std::move(a)}, {"b", std::move(b)}}))
        .reading()
        .stock_number;
  };
  EXPECT_EQ(joined_by("-", "R", "1042"), "R-1042");
  EXPECT_EQ(joined_by("", "R", "1042"), "R1042");
  EXPECT_EQ(joined_by(" / ", " R ", "\t1042"), "R / 1042");
  EXPECT_EQ(joined_by("-", "", ""), "");
  // What is half there is not taken for whole: "R" may be another stone.
  EXPECT_EQ(joined_by("-", "R", ""), "R-");
  EXPECT_EQ(joined_by("-", "", "1042"), "-1042");
}

TEST(Mapper, SplitsOneColumnIntoSeveralFields) {
  const char* const code = "([A-Z]\\d+)/(\\d+)/(?P<shade>[D-Z])";
  const auto mapping =
      reading_mapping({pattern(from("stock_number", {"code"}), code, "\\1"),
                       pattern(from("position", {"code"}), code, "\\2"),
                       pattern(from("color", {"code"}), code, "\\g<shade>"),
                       pattern(from("note", {"code"}), code, "\\3\\\\\\1 of \\0")});
  const Outcome outcome = mapped(mapping, record({{"code", " R1042/2/G "}}));
  EXPECT_EQ(outcome.reading().stock_number, "R1042");
  EXPECT_EQ(outcome.reading().position, "2");
  EXPECT_EQ(outcome.reading().color, "G");
  EXPECT_EQ(outcome.reading().note, "G\\R1042 of R1042/2/G");
  EXPECT_EQ(mapped(mapping, record({{"code", "R1042/2"}})).reason,
            "column \"code\" holds \"R1042/2\", which does not match the pattern "
            "([A-Z]\\d+)/(\\d+)/(?P<shade>[D-Z])");
}

TEST(Mapper, MatchesAPatternAgainstAllOfTheText) {
  const auto taken = [](std::string match, std::string text, std::string take = {}) {
    const Outcome outcome =
        mapped(reading_mapping({pattern(from("run", {"no"}), std::move(match), std::move(take))}),
               record({{"no", std::move(text)}}));
    return outcome.reason.empty() ? outcome.reading().run : "refused";
  };
  EXPECT_EQ(taken("\\d+", "17"), "17");
  EXPECT_EQ(taken("\\d+", "17b"), "refused");
  EXPECT_EQ(taken("\\d+", "b17"), "refused");
  EXPECT_EQ(taken("^\\d+$", "17"), "17");
  EXPECT_EQ(taken("run (\\d+)", "run 17"), "17");           // its one group
  EXPECT_EQ(taken("(?:no|run) \\d+", "run 17"), "run 17");  // no group: all of it
  EXPECT_EQ(taken("(?i)RUN(.*)", "run 17"), "17");          // without the space around it
  EXPECT_EQ(taken("(a)|(b)", "b", "\\1-\\2"), "-b");  // a group that has no part in it is empty
  EXPECT_EQ(taken("a*", ""), "");                     // no text, no value
  EXPECT_EQ(taken("a.b", "a\nb"), "refused");
  EXPECT_EQ(taken("(..)ß", "äöß"), "äö");  // characters, not bytes
}

TEST(Mapper, TriesPatternsOnWhatIsJoinedAndWordsOnWhatIsTaken) {
  model::FieldRule rule = words(pattern(joined(from("subject_kind", {"a", "b"}), ":"), "x:(.)"),
                                {{"s", "stone"}, {"", "parcel"}});
  const auto mapping = reading_mapping({rule});
  EXPECT_EQ(mapped(mapping, record({{"a", "x"}, {"b", "s"}})).reading().subject_kind,
            model::SubjectKind::kStone);
  EXPECT_EQ(mapped(mapping, record({{"a", ""}, {"b", ""}})).reading().subject_kind,
            model::SubjectKind::kParcel);
  EXPECT_EQ(
      mapped(mapping, record({{"a", "x"}, {"b", "t"}})).reason,
      "column \"a\" with \"b\" holds \"t\", which the mapping has no word for (it has \"\" and s)");
}

TEST(Mapper, TakesTimesAndNumbersOutOfTexts) {
  model::Mapping mapping =
      reading_mapping({number(pattern(from("carat", {"text"}), ".*?([\\d,]+) mg.*"), "mg", ',')});
  mapping.fields[1] =
      time(pattern(from("measured_at", {"text"}), "T(\\d+)Z.*"), "%Y%m%d%H%M%S", "UTC");
  const Outcome outcome =
      mapped(mapping, {{"text", "T20261102101530Z weight 107,0 mg"}, {"result", "A"}});
  EXPECT_EQ(base::format_rfc3339(outcome.reading().measured_at), "2026-11-02T10:15:30.000Z");
  EXPECT_EQ(outcome.reading().carat, base::Decimal::parse("0.535"));
}

// (a+)+$ on a long run of a takes forever where a matcher tries one way after the other; RE2 reads
// the text once.
// The codes are GS1's own examples, see tests/base/gs1_code_test.cc.
TEST(Mapper, TakesOneElementOfAScannedCode) {
  const auto stock = [](std::vector<std::string> identifiers, std::string code) {
    const Outcome outcome =
        mapped(reading_mapping({gs1(from("stock_number", {"code"}), std::move(identifiers))}),
               record({{"code", std::move(code)}}));
    return outcome.reason.empty() ? outcome.reading().stock_number : outcome.reason;
  };
  EXPECT_EQ(stock({"21"},
                  "]d2010952012345678821R1042\x1D"
                  "10A"),
            "R1042");
  EXPECT_EQ(stock({"21"}, "(01) 09520123456788 (21) R1042"), "R1042");
  EXPECT_EQ(stock({"21"}, " https://id.gs1.org/01/09520123456788/21/R%2f1042\r"), "R/1042");
  EXPECT_EQ(stock({"01"}, "]E02112345678900"), "02112345678900");
  EXPECT_EQ(stock({"8004", "21"}, "(21)R1042(8004)4000001111"), "4000001111");
  EXPECT_EQ(stock({"8004", "21"}, "(01)09520123456788(21)R1042"), "R1042");
  EXPECT_EQ(stock({"21"}, ""), "");
}

TEST(Mapper, RefusesACodeThatIsNotWholeOrNotOfGs1) {
  const auto refusal = [](std::vector<std::string> identifiers, std::string code) {
    return mapped(reading_mapping(
                      {or_else(gs1(from("color", {"code"}), std::move(identifiers)), "G")}),
                  record({{"code", std::move(code)}}))
        .reason;
  };
  EXPECT_EQ(refusal({"21"}, "R1042"),
            "column \"code\" holds \"R1042\": it is no GS1 code: it begins with no symbology "
            "identifier, no application identifier, and no http address");
  EXPECT_EQ(refusal({"21"}, "(01)09520123456789(21)A"),
            "column \"code\" holds \"(01)09520123456789(21)A\": of (01) \"09520123456789\": its "
            "check digit is 9 and should be 8");
  EXPECT_EQ(
      refusal({"8004", "21"}, "(01)09520123456788(10)A"),
      "column \"code\" holds \"(01)09520123456788(10)A\", which has no (8004) or (21), as the "
      "mapping wants; it has (01) and (10)");
  EXPECT_EQ(refusal({"21"}, "010952012345678821R1042"),
            "column \"code\" holds \"010952012345678821R1042\": of (21) \"R1042\": the end may be "
            "another element, for there is neither a separator nor a symbology identifier; let the "
            "scanner send the separator as 0x1D, or the symbology identifier");
}

TEST(Mapper, TriesPatternsAndWordsOnTheElementOfACode) {
  model::FieldRule rule = words(pattern(gs1(from("subject_kind", {"a", "b"}), {"91"}), "x:(.)"),
                                {{"1", "stone"}, {"2", "piece"}});
  const auto kind = [&](const char* a, const char* b) {
    return mapped(reading_mapping({rule}), record({{"a", a}, {"b", b}})).reading().subject_kind;
  };
  rule.join = "";
  EXPECT_EQ(kind("(91)", "x:2"), model::SubjectKind::kPiece);
  const auto carat = mapped(reading_mapping({number(gs1(from("carat", {"c"}), {"92"}), "mg")}),
                            record({{"c", "(21)R1042(92)105.5"}}));
  EXPECT_EQ(carat.reading().carat, *base::Decimal::parse("0.5275"));
}

TEST(Mapper, TellsWhatIsWrongWithIdentifiersInTheirPlace) {
  const auto with = [](const model::FieldRule& rule) {
    const std::string error = compile_error(reading_mapping({rule}));
    return error.substr(std::min(error.size(), error.find(":7:") + 1));
  };
  EXPECT_EQ(with(gs1(from("run", {"a"}), {"21", "89"})),
            "7:30: gs1: \"89\" is no application identifier of GS1");
  EXPECT_EQ(
      with(gs1(from("carat", {"a"}), {"3103"})),
      "7:30: gs1: (3103) has a decimal point that its data do not show, so it gives no number");
  EXPECT_EQ(with(gs1(constant("run", "a"), {"21"})),
            "7:30: gs1: a constant is what it is: an identifier is for what is taken from columns");
  EXPECT_EQ(compile_error(reading_mapping({gs1(from("note", {"a"}), {"3103"})})), "compiles");
}

TEST(Mapper, BoundsTheTextsThatAPatternIsTriedOn) {
  const auto mapping = reading_mapping({pattern(from("note", {"n"}), "(a+)+b?(.{0,9})", "\\2")});
  std::string text(Pattern::kMaxText, 'a');
  EXPECT_EQ(mapped(mapping, record({{"n", text}})).reading().note, "");
  text += 'a';
  EXPECT_EQ(mapped(mapping, record({{"n", text}})).reason,
            "column \"n\" holds a text of 65537 bytes; patterns are tried on at most 65536");
}

TEST(Mapper, FoldsWordsOnlyWhereTheMappingSaysSo) {
  const auto kind = [](bool letter_case, bool space, std::string text) {
    const auto mapping = reading_mapping({folded(
        words(from("subject_kind", {"k"}), {{"Loser Stein", "stone"}, {"SCHMUCKSTÜCK", "piece"}}),
        letter_case, space)});
    const Outcome outcome = mapped(mapping, record({{"k", std::move(text)}}));
    return outcome.reason.empty() ? std::string(model::text(*outcome.reading().subject_kind))
                                  : outcome.reason;
  };
  EXPECT_EQ(kind(false, false, "Loser Stein"), "stone");
  EXPECT_THAT(kind(false, false, "loser stein"), HasSubstr("no word for"));
  EXPECT_EQ(kind(true, false, "loser STEIN"), "stone");
  EXPECT_EQ(kind(true, false, "Schmuckstück"), "piece");
  EXPECT_THAT(kind(true, false, "loser  stein"), HasSubstr("no word for"));
  EXPECT_EQ(kind(false, true, "Loser \xC2\xA0 Stein"), "stone");
  EXPECT_THAT(kind(false, true, "loser stein"), HasSubstr("no word for"));
  EXPECT_EQ(kind(true, true, " LOSER   STEIN\xC2\xA0"), "stone");
  EXPECT_THAT(kind(true, true, "loserstein"),
              HasSubstr("holds \"loserstein\", which the mapping has no word for (it has Loser "
                        "Stein and SCHMUCKST"));
}

TEST(Mapper, TakesDefaultsWhereThereIsNoValueAndNamesThem) {
  const auto mapping = reading_mapping(
      {or_else(from("operator", {"who"}), "nobody"),
       or_else(words(from("subject_kind", {"kind"}), {{"s", "stone"}, {"n/a", ""}}), "parcel"),
       or_else(number(from("carat", {"weight"}), "g", ','), "0,2"),
       or_else(from("extra.lamp", {"lamp"}), "deuterium"), or_else(from("color", {"col"}), "G")});
  const Fields given = {
      {"who", "eve"}, {"kind", "s"}, {"weight", "0,1"}, {"lamp", "xenon"}, {"col", "H"}};
  EXPECT_TRUE(mapped(mapping, record(given)).reading().defaults.empty());
  const Outcome outcome = mapped(
      mapping, record({{"who", " "}, {"kind", "n/a"}, {"weight", ""}, {"lamp", ""}, {"col", "H"}}));
  EXPECT_EQ(outcome.reading().operator_name, "nobody");
  EXPECT_EQ(outcome.reading().subject_kind, model::SubjectKind::kParcel);
  EXPECT_EQ(outcome.reading().carat, base::Decimal(1));
  EXPECT_EQ(outcome.reading().extra, (Fields{{"lamp", "deuterium"}}));
  EXPECT_EQ(outcome.reading().color, "H");
  EXPECT_THAT(outcome.reading().defaults,
              testing::ElementsAre("operator", "subject_kind", "carat", "extra.lamp"));
  // A wrong value is not no value.
  EXPECT_THAT(
      mapped(mapping,
             record({{"who", ""}, {"kind", "x"}, {"weight", ""}, {"lamp", ""}, {"col", ""}}))
          .reason,
      HasSubstr("no word for"));
  EXPECT_THAT(
      mapped(mapping,
             record({{"who", ""}, {"kind", ""}, {"weight", "?"}, {"lamp", ""}, {"col", ""}}))
          .reason,
      HasSubstr("no number"));
}

TEST(Mapper, TakesDefaultsForColumnsThatSparseRecordsLeaveOut) {
  const auto mapping = reading_mapping({or_else(from("operator", {"who", "by"}), "nobody")});
  EXPECT_EQ(mapped(mapping, record(), true).reading().operator_name, "nobody");
  EXPECT_EQ(mapped(mapping, record({{"by", "eve"}}), true).reading().operator_name, "eve");
  EXPECT_THAT(mapped(mapping, record()).reason, HasSubstr("no column \"who\""));
}

// model::without_defaults() knows the fields by their names: each that may have a default.
TEST(Mapper, MakesWithDefaultsWhatItMakesWithoutThemAndTheDefaults) {
  std::vector<model::FieldRule> plain, with;
  for (const Field<model::Reading>& field : fields_of<model::Reading>()) {
    if (!field.may_have_default) continue;
    const std::string value = field.take == Take::kSubjectKind   ? "stone"
                              : field.take == Take::kDiamondType ? "IIa"
                                                                 : "0.5";
    plain.push_back(from(std::string(field.name), {"nothing"}));
    with.push_back(or_else(plain.back(), value));
  }
  plain.push_back(from("extra.lamp", {"nothing"}));
  with.push_back(or_else(plain.back(), "xenon"));
  EXPECT_EQ(with.size(), 15u);
  const Fields fields = record({{"nothing", ""}});
  const model::Reading bare = mapped(reading_mapping(plain), fields).reading();
  const model::Reading full = mapped(reading_mapping(with), fields).reading();
  EXPECT_EQ(full.defaults.size(), with.size());
  EXPECT_NE(full, bare);
  EXPECT_EQ(model::without_defaults(full), bare);
}

// Records of three kinds, told apart by the column "kind".
model::Mapping house_of_sections() {
  return sections(
      {section({{"kind", {"R", "S"}}}, reading_mapping({from("stock_number", {"item"})})),
       section({{"kind", {"D"}}}, declaration_mapping()),
       ignored({{"kind", {"H", "L"}}}, "header and trailer lines"),
       ignored({{"kind", {"C"}}, {"item", {"", "-"}}}, "empty comments")});
}

TEST(Mapper, GivesEachRecordToTheFirstSectionThatTakesIt) {
  Mapper mapper = compiled(house_of_sections());
  const auto of_kind = [&](std::string kind, std::string item) {
    return mapped(mapper, record({{"kind", std::move(kind)}, {"item", std::move(item)}}));
  };
  EXPECT_EQ(of_kind("R", "R1042").reading().stock_number, "R1042");
  EXPECT_EQ(of_kind(" S ", "R1043").reading().stock_number, "R1043");
  EXPECT_EQ(of_kind("D", "R1042").declaration().stock_number, "R1042");
  EXPECT_EQ(of_kind("H", "").records.ignored,
            (std::vector<model::Ignored>{{"header and trailer lines", 1}}));
  EXPECT_EQ(of_kind("C", "-").records.ignored,
            (std::vector<model::Ignored>{{"empty comments", 1}}));
  EXPECT_TRUE(of_kind("H", "").records.empty());
}

TEST(Mapper, RefusesWhatFitsNoSectionAndSaysWhatItHolds) {
  Mapper mapper = compiled(house_of_sections());
  EXPECT_EQ(
      mapped(mapper, record({{"kind", "Q"}, {"item", "7"}})).reason,
      "fits no section of the mapping: column \"kind\" holds \"Q\", and column \"item\" holds "
      "\"7\"");
  EXPECT_EQ(
      mapped(mapper, record({{"kind", "C"}, {"item", "7"}})).reason,
      "fits no section of the mapping: column \"kind\" holds \"C\", and column \"item\" holds "
      "\"7\"");
  EXPECT_EQ(mapped(mapper, record({{"Kind", "R"}})).reason,
            "fits no section of the mapping: there is no column \"kind\", and there is no column "
            "\"item\"");
  EXPECT_EQ(mapped(mapper, record({{"kind", "R"}, {"kind", "R"}, {"item", ""}})).reason,
            "there are two columns \"kind\"; each needs a name of its own");
  Mapper by_kind =
      compiled(sections({section({{"kind", {"R"}}}, reading_mapping()),
                         ignored({{"kind", {"H", "L"}}}, "header and trailer lines")}));
  EXPECT_EQ(mapped(by_kind, record({{"kind", "r"}})).reason,
            "fits no section of the mapping: column \"kind\" holds \"r\" (it has sections for R, H "
            "and L)");
}

TEST(Mapper, RefusesWhatItsSectionDoesNotCover) {
  Mapper mapper = compiled(house_of_sections());
  EXPECT_THAT(
      mapped(mapper,
             {{"kind", "R"}, {"item", "R1"}, {"at", "2026-11-02T10:15:30Z"}, {"result", "Q"}})
          .reason,
      HasSubstr("column \"result\" holds \"Q\""));
  EXPECT_THAT(mapped(mapper, {{"kind", "R"}, {"item", "R1"}}).reason,
              HasSubstr("there is no column \"at\""));
  // A declaration of that layout needs no such column.
  EXPECT_EQ(mapped(mapper, {{"kind", "D"}, {"item", "R1"}}).declaration().stock_number, "R1");
}

TEST(Mapper, GivesTheRestToALastSectionWithoutATest) {
  Mapper mapper =
      compiled(sections({ignored({{"kind", {"H"}}}, "header"), section({}, reading_mapping())}));
  EXPECT_EQ(mapped(mapper, record({{"kind", "H"}})).records.ignored.size(), 1u);
  EXPECT_EQ(mapped(mapper, record({{"kind", "?"}})).reading().instrument, "A-0117");
  EXPECT_EQ(mapped(mapper, record()).reading().instrument, "A-0117");
}

TEST(Mapper, TestsAFieldThatASparseRecordLeavesOutAsAnEmptyText) {
  const auto mapping =
      sections({ignored({{"error", {"", "none"}}}, "no error"), section({}, reading_mapping())});
  EXPECT_EQ(mapped(mapping, record(), true).records.ignored.size(), 1u);
  EXPECT_EQ(mapped(mapping, record({{"error", "none"}}), true).records.ignored.size(), 1u);
  EXPECT_EQ(mapped(mapping, record({{"error", "lamp"}}), true).records.readings.size(), 1u);
  EXPECT_EQ(mapped(mapping, record()).records.readings.size(),
            1u);  // else a column that is not there holds nothing
}

TEST(Mapper, CountsWhatItIgnoresByTheReason) {
  Mapper mapper = compiled(house_of_sections());
  model::Records out;
  std::string reason;
  for (const char* kind : {"H", "C", "L", "H", "R"}) {
    const RawRecord raw(record({{"kind", kind}, {"item", "-"}}));
    EXPECT_NE(mapper.apply(raw.lent(1), 1, out, reason), Mapper::Applied::kRefused) << reason;
  }
  EXPECT_EQ(out.ignored,
            (std::vector<model::Ignored>{{"header and trailer lines", 3}, {"empty comments", 1}}));
  EXPECT_EQ(out.size(), 1u);
}

TEST(Mapper, BindsTheColumnsOfSectionsForEachLayout) {
  Mapper mapper = compiled(house_of_sections());
  model::Records out;
  std::string reason;
  const RawRecord reading(record({{"kind", "R"}, {"item", "R1"}}));
  const RawRecord declaration({{"item", "R2"}, {"kind", "D"}});
  for (int round = 0; round < 2; ++round) {
    EXPECT_EQ(mapper.apply(reading.lent(1), 1, out, reason), Mapper::Applied::kMade) << reason;
    EXPECT_EQ(mapper.apply(declaration.lent(2), 1, out, reason), Mapper::Applied::kMade) << reason;
  }
  EXPECT_EQ(out.readings.size(), 2u);
  ASSERT_EQ(out.declarations.size(), 2u);
  EXPECT_EQ(out.declarations[1].stock_number, "R2");
  EXPECT_EQ(mapper.apply(reading.lent(2), 1, out, reason), Mapper::Applied::kBreach);
}

TEST(Mapper, TakesTheFieldsZoneBeforeTheMappingsBeforeTheSites) {
  const auto at = [](std::string own, std::string mappings) {
    model::Mapping mapping = reading_mapping();
    mapping.zone = std::move(mappings);
    mapping.fields[1] = time(from("measured_at", {"at"}), "%F %T", std::move(own));
    return base::format_rfc3339(mapped(mapping, {{"at", "2026-11-02 12:00:00"}, {"result", "A"}})
                                    .reading()
                                    .measured_at)
        .substr(11, 5);
  };
  EXPECT_EQ(at("", ""), "11:00");  // Brussels
  EXPECT_EQ(at("", "Asia/Kolkata"), "06:30");
  EXPECT_EQ(at("America/New_York", "Asia/Kolkata"), "17:00");
}

// The instants: see zone_test, Europe/Brussels on 2025-10-26 (IANA tz database 2025b).
TEST(Mapper, ResolvesTheHourThatComesTwiceOnlyByARuleAndNotesTheRule) {
  const auto with = [](std::string own, std::string mappings) {
    model::Mapping mapping = reading_mapping();
    mapping.twice = std::move(mappings);
    mapping.fields[1] = time(from("measured_at", {"at"}), "%F %T", "", std::move(own));
    return mapping;
  };
  const Fields twice = {{"at", "2025-10-26 02:30:00"}, {"result", "A"}};
  EXPECT_EQ(mapped(with("", ""), twice).reason,
            "column \"at\" holds \"2025-10-26 02:30:00\": this hour comes twice in Europe/Brussels "
            "that night; the "
            "mapping can say which with  twice: earlier  or  twice: later");
  const Outcome earlier = mapped(with("earlier", "later"), twice),
                later = mapped(with("", "later"), twice);
  EXPECT_EQ(base::to_millis(earlier.reading().measured_at), 1'761'438'600'000);
  EXPECT_EQ(earlier.reading().time_rule, "earlier");
  EXPECT_EQ(base::to_millis(later.reading().measured_at), 1'761'442'200'000);
  EXPECT_EQ(later.reading().time_rule, "later");
  EXPECT_EQ(mapped(with("later", ""), {{"at", "2025-10-26 04:30:00"}, {"result", "A"}})
                .reading()
                .time_rule,
            "");
  EXPECT_THAT(mapped(with("later", ""), {{"at", "2025-03-30 02:30:00"}, {"result", "A"}}).reason,
              HasSubstr("does not come"));
}

TEST(Mapper, KeepsStockNumbersAsTheyAre) {
  const auto mapping = reading_mapping({from("stock_number", {"item"})});
  for (const char* text : {"0042", "12E4", "r1042", "R-10/42 b", "1.0",
                           "N\xC2\xB0"
                           "4"}) {
    EXPECT_EQ(mapped(mapping, record({{"item", text}})).reading().stock_number, text);
  }
  EXPECT_THAT(mapped(mapping, record({{"item",
                                       "R\x1D"
                                       "10"}}))
                  .reason,
              HasSubstr("control characters"));
  EXPECT_THAT(mapped(mapping, record({{"item", std::string(201, '7')}})).reason,
              HasSubstr("201 bytes"));
}

TEST(Mapper, TakesThePositionFromAStockNumberWithAMark) {
  const auto mapping = reading_mapping({from("stock_number", {"item"})});
  const Outcome outcome = mapped(mapping, record({{"item", "R1042#2"}}));
  EXPECT_EQ(outcome.reading().stock_number, "R1042");
  EXPECT_EQ(outcome.reading().position, "2");
  EXPECT_EQ(mapped(mapping, record({{"item", "R1042 # left ear"}})).reading().position, "left ear");
  for (const char* text : {"#2", "R1042#", "#", "R#1#2", " #2", "R1042# "}) {
    EXPECT_THAT(mapped(mapping, record({{"item", text}})).reason, HasSubstr("# stands between"))
        << text;
  }
}

TEST(Mapper, TakesThePositionFromOnePlaceOnly) {
  const auto mapping = reading_mapping({from("stock_number", {"item"}), from("position", {"pos"})});
  EXPECT_EQ(mapped(mapping, record({{"item", "R1042"}, {"pos", "2"}})).reading().position, "2");
  EXPECT_THAT(mapped(mapping, record({{"item", "R1042#2"}, {"pos", "2"}})).reason,
              HasSubstr("from elsewhere"));
  EXPECT_THAT(mapped(mapping, record({{"item", "R1042"}, {"pos", "2#3"}})).reason,
              HasSubstr("no # in it"));
}

TEST(Mapper, NamesAColumnThatIsNotThereAndThoseThatAre) {
  EXPECT_EQ(
      mapped(reading_mapping(), {{"at", "2026-11-02T10:15:30Z"}, {"Result", "A"}, {"item", "R1"}})
          .reason,
      "there is no column \"result\", from which the mapping takes finding; there is at, Result "
      "and item");
  EXPECT_THAT(mapped(reading_mapping({from("note", {"remark"})}), record()).reason,
              HasSubstr("no column \"remark\""));
  EXPECT_THAT(mapped(reading_mapping(), {}).reason, HasSubstr("there is no column at all"));
}

TEST(Mapper, LetsSparseRecordsLeaveOutOptionalFields) {
  const auto mapping = reading_mapping({from("note", {"remark"}), from("shape", {"cut", "style"})});
  EXPECT_EQ(mapped(mapping, record(), true).reading().note, "");
  EXPECT_EQ(mapped(mapping, record({{"style", "old"}}), true).reading().shape, "old");
  EXPECT_EQ(mapped(mapping, {{"at", "2026-11-02T10:15:30Z"}}, true).reason,
            "there is no column \"result\", from which the mapping takes finding; there is at");
}

TEST(Mapper, RefusesTwoColumnsOfOneName) {
  EXPECT_EQ(mapped(reading_mapping(), record({{"at", "2026-11-03T10:15:30Z"}})).reason,
            "there are two columns \"at\"; each needs a name of its own");
  EXPECT_EQ(mapped(reading_mapping(), record({{"x", ""}, {"x", ""}})).reason,
            "");  // nobody asks for x
}

TEST(Mapper, BindsColumnsOnceForALayoutOfADocument) {
  Mapper mapper = compiled(reading_mapping());
  model::Records out;
  std::string reason;
  const RawRecord one({{"at", "2026-11-02T10:15:30Z"}, {"result", "A"}});
  const RawRecord other({{"result", "B"}, {"at", "2026-11-02T10:15:31Z"}});
  EXPECT_EQ(mapper.apply(one.lent(1), 1, out, reason), Mapper::Applied::kMade);
  EXPECT_EQ(mapper.apply(other.lent(2), 1, out, reason), Mapper::Applied::kMade);
  EXPECT_EQ(mapper.apply(one.lent(1), 1, out, reason), Mapper::Applied::kMade);
  EXPECT_EQ(mapper.apply(other.lent(1), 2, out, reason),
            Mapper::Applied::kMade);  // another document's layout 1
  EXPECT_EQ(mapper.apply(one.lent(1), 1, out, reason), Mapper::Applied::kMade);
  ASSERT_EQ(out.readings.size(), 5u);
  EXPECT_EQ(out.readings[1].finding, Finding::kSimulant);
  EXPECT_EQ(out.readings[3].finding, Finding::kSimulant);
  EXPECT_EQ(out.readings[4].finding, Finding::kNatural);
}

TEST(Mapper, NoticesALayoutThatIsNotTheSame) {
  Mapper mapper = compiled(reading_mapping());
  model::Records out;
  std::string reason;
  EXPECT_EQ(mapper.apply(RawRecord(record({{"x", ""}})).lent(1), 1, out, reason),
            Mapper::Applied::kMade);
  EXPECT_EQ(mapper.apply(RawRecord(Fields{{"at", ""}}).lent(1), 1, out, reason),
            Mapper::Applied::kBreach);
}

TEST(Mapper, KeepsADeclarationsDimensionsAsGiven) {
  const auto mapping = declaration_mapping(
      {from("identity", {"claim"}), from("length_mm", {"x"}), from("carat", {"ct"}),
       from("stones", {"n"}), from("value", {"price"}), from("mount", {"set"}),
       from("channel", {"shop"}), time(from("declared_at", {"on"}), "%F")});
  const Outcome outcome = mapped(mapping, {{"item", "R1#3"},
                                           {"claim", "natural"},
                                           {"x", "0"},
                                           {"ct", "1.2"},
                                           {"n", "3"},
                                           {"price", "1200.50"},
                                           {"set", "ring"},
                                           {"shop", "web"},
                                           {"on", "2026-11-02"}});
  EXPECT_EQ(outcome.declaration().length_mm, base::Decimal(0));
  EXPECT_EQ(outcome.declaration().stock_number, "R1");
  EXPECT_EQ(outcome.declaration().position, "3");
  EXPECT_EQ(outcome.declaration().identity, Finding::kNatural);
  EXPECT_EQ(outcome.declaration().stones, base::Decimal(3));
  EXPECT_EQ(outcome.declaration().value, base::Decimal::parse("1200.5"));
  ASSERT_TRUE(outcome.declaration().declared_at);
  EXPECT_EQ(base::format_rfc3339(*outcome.declaration().declared_at), "2026-11-01T23:00:00.000Z");
}

TEST(Mapper, TakesNoIndeterminateIdentity) {
  const auto mapping = declaration_mapping({from("identity", {"claim"})});
  for (const char* word : {"indeterminate", "void", "diamond"}) {
    EXPECT_THAT(mapped(mapping, {{"item", "R1"}, {"claim", word}}).reason,
                HasSubstr("composite or simulant"));
  }
}

TEST(Mapper, MakesAScan) {
  model::Mapping mapping;
  mapping.record = model::RecordKind::kScan;
  mapping.fields = {constant("bench", "counter-1"), from("stock_number", {"code"}),
                    from("scanned_at", {"at"})};
  const Outcome outcome = mapped(mapping, {{"code", "R1042#1"}, {"at", "2026-11-02T10:15:30Z"}});
  ASSERT_EQ(outcome.records.scans.size(), 1u);
  EXPECT_EQ(outcome.records.scans[0].bench, "counter-1");
  EXPECT_EQ(outcome.records.scans[0].stock_number, "R1042");
  EXPECT_EQ(outcome.records.scans[0].position, "1");
  EXPECT_EQ(base::to_millis(outcome.records.scans[0].scanned_at), 1'793'614'530'000);
}

TEST(Mapper, DoesNotCompileWhatCannotWork) {
  const auto with = [](model::FieldRule rule) {
    rule.mark = {7, 3};
    return compile_error(reading_mapping({std::move(rule)}));
  };
  EXPECT_EQ(with(from("carrat", {"x"})),
            "counter-1.mapping.yaml:7:3: there is no field \"carrat\" in this kind of record");
  EXPECT_THAT(with(number(from("carat", {"x"}), "mm")),
              HasSubstr("7:3: carat: the unit \"mm\" is none"));
  EXPECT_THAT(with(number(from("carat", {"x"}), "", ',', ',')), HasSubstr("the same"));
  EXPECT_THAT(with(number(from("note", {"x"}), "g")), HasSubstr("unit"));
  EXPECT_THAT(with(from("carat", {})), HasSubstr("either a column or a constant"));
  EXPECT_THAT(with(from("note", std::vector<std::string>(9, "x"))), HasSubstr("at most 8 columns"));
  EXPECT_THAT(with(from("finding", {"x"})), HasSubstr("there twice"));
  EXPECT_THAT(with(words(from("diamond_type", {"x"}), {{"1", "type 1"}})),
              HasSubstr("\"type 1\" is none of Ia"));
  EXPECT_THAT(with(constant("carat", "-1")), HasSubstr("the constant of carat holds \"-1\""));
  EXPECT_THAT(with(constant("subject_kind", "ring")), HasSubstr("stone, piece or parcel"));
  EXPECT_THAT(compile_error(declaration_mapping({from("finding", {"x"})})),
              HasSubstr("no field \"finding\""));
  model::Mapping bad_zone = reading_mapping();
  bad_zone.zone = "Europe/Antwerp";
  EXPECT_THAT(compile_error(bad_zone), HasSubstr("Europe/Antwerp"));
  model::Mapping no_finding = reading_mapping();
  no_finding.fields.pop_back();
  EXPECT_THAT(compile_error(no_finding), HasSubstr("finding: it has to be there"));
  EXPECT_EQ(compile_error(sections({section({}, no_finding)})),
            "counter-1.mapping.yaml: finding: it has to be there");
  EXPECT_THAT(compile_error(sections({section({}, reading_mapping()), ignored({}, "all")})),
              HasSubstr("without a test it would take every record"));
}

TEST(Mapper, TellsWhatIsWrongWithPatternsWordsAndDefaultsInTheirPlaces) {
  const auto with = [](model::FieldRule rule) {
    rule.mark = {7, 3};
    const std::string error = compile_error(reading_mapping({std::move(rule)}));
    return error == "compiles" ? error : error.substr(std::strlen("counter-1.mapping.yaml:"));
  };
  const auto run = from("run", {"x"});
  EXPECT_EQ(with(pattern(run, "(a")), "7:20: match: it is no pattern of RE2: missing ): (a");
  EXPECT_THAT(with(pattern(run, "a(?=b)")), HasSubstr("7:20: match: it is no pattern of RE2: "));
  EXPECT_THAT(with(pattern(run, "\\1a")), HasSubstr("7:20: match: it is no pattern of RE2: "));
  EXPECT_THAT(with(pattern(run, "((a{100}){100}){100}")),
              HasSubstr("7:20: match: it is no pattern of RE2: invalid repetition size"));
  EXPECT_EQ(
      with(pattern(run, "(\\pL{100}){10}")),
      "7:20: match: it needs more than 1 MiB of memory; fewer or shorter repetitions need less");
  EXPECT_EQ(with(pattern(run, "\\pL{1,20}-[0-9A-Z]{1,100}")), "compiles");
  EXPECT_EQ(
      with(pattern(run, "(a)(?P<b>b)")),
      "7:20: match: the pattern has 2 groups, by name b; say with  take  what is taken of it, such "
      "as '\\1' or '\\2-\\1'");
  EXPECT_EQ(with(pattern(run, "(a)", "\\2")),
            "7:40: take: there is no group \\2; the pattern has 1 group");
  EXPECT_EQ(with(pattern(run, "a", "\\1")),
            "7:40: take: there is no group \\1; the pattern has no groups");
  EXPECT_EQ(with(pattern(run, "(?P<no>a)", "\\g<n>")),
            "7:40: take: there is no group named \"n\"; the pattern has 1 group, by name no");
  for (const char* take : {"\\", "\\n", "\\g", "\\g<a", "a\\"}) {
    EXPECT_THAT(with(pattern(run, "(a)", take)), HasSubstr("7:40: take: after a backslash comes"))
        << take;
  }
  EXPECT_THAT(with(pattern(run, "(a)", "stone")),
              HasSubstr("7:40: take: nothing is taken of the text"));
  EXPECT_EQ(with(pattern(run, "", "\\1")), "7:40: take: it goes with  match, a pattern");
  EXPECT_THAT(with(pattern(constant("run", "a"), "a")),
              HasSubstr("7:3: run: a constant is what it is"));
  EXPECT_EQ(with(folded(words(from("color", {"x"}), {{"a", "D"}, {"A", "E"}}), true, false)),
            "7:3: color: the words \"A\" and \"a\" are one after folding");
  EXPECT_THAT(with(folded(from("color", {"x"}), true, false)), HasSubstr("fold goes with words"));
  EXPECT_EQ(with(or_else(from("carat", {"x"}), "0")),
            "7:60: default: it holds \"0\", which must be more than 0");
  EXPECT_EQ(
      with(or_else(from("subject_kind", {"x"}), "ring")),
      "7:60: default: it holds \"ring\", which is not stone, piece or parcel; the mapping can "
      "translate it with  words");
  EXPECT_THAT(with(or_else(constant("color", "D"), "E")), HasSubstr("needs no default"));
}

TEST(Mapper, HasNoDefaultForWhatTellsRecordsApart) {
  for (const char* field :
       {"instrument", "run", "measured_at", "stock_number", "position", "finding"}) {
    model::Mapping mapping = reading_mapping();
    std::erase_if(mapping.fields,
                  [&](const model::FieldRule& rule) { return rule.field == field; });
    mapping.fields.push_back(or_else(from(field, {"x"}), "natural"));
    EXPECT_THAT(compile_error(mapping), HasSubstr(std::string(field) + ": it has no default"))
        << field;
  }
  for (const char* field : {"position", "carat", "color", "extra.a"}) {
    EXPECT_THAT(compile_error(declaration_mapping({or_else(from(field, {"x"}), "1")})),
                HasSubstr("it has no default"));
  }
}

TEST(Mapper, HasABoundedNumberOfPatterns) {
  std::vector<model::FieldRule> rules;
  for (int i = 0; i < 64; ++i)
    rules.push_back(pattern(from("extra." + std::to_string(i), {"x"}), "a"));
  EXPECT_EQ(compile_error(reading_mapping(rules)), "compiles");
  rules.push_back(pattern(from("extra.64", {"x"}), "a"));
  EXPECT_EQ(compile_error(reading_mapping(rules)),
            "counter-1.mapping.yaml:7:20: match: a mapping has at most 64 patterns");
  const auto half = reading_mapping({rules.begin(), rules.begin() + 33});
  EXPECT_THAT(compile_error(sections({section({{"a", {"b"}}}, half), section({}, half)})),
              HasSubstr("at most 64 patterns"));
}

}  // namespace
}  // namespace girdle::reading
