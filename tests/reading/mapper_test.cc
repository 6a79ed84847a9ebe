#include "reading/mapper.h"

#include <gmock/gmock.h>

#include "base/time.h"
#include "reading/mappings.h"

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
  EXPECT_EQ(applied == Mapper::Applied::kMade, outcome.reason.empty());
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
}

}  // namespace
}  // namespace girdle::reading
