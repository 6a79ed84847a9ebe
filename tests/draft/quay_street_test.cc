// The samples of examples/quay-street, as examples/morning.py plays them: a draft finds all that
// the example's own configuration says, but for what only a person can know.
#include <gmock/gmock.h>

#include "draft/draft.h"

namespace girdle::draft {
namespace {

using testing::HasSubstr;
using testing::Not;

Draft drafted(const std::string& name, const std::string& bytes) {
  const auto catalogue = reading::Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  auto made = make_draft(catalogue, {{name, bytes}}, {});
  EXPECT_TRUE(made) << made.error().text;
  return made ? std::move(made).value() : Draft{};
}

TEST(QuayStreet, Counter1WritesSemicolonsAndDecimalCommas) {
  const Draft draft = drafted(
      "export-1.csv",
      "no;date;time;item;result;weight;temp\r\n1;02.11.2026;09:05:10;R1042;A;0,53;21,5\r\n"
      "2;02.11.2026;09:05:50;R1042;A;0,53;21,5\r\n3;02.11.2026;09:07:00;R1043;A;0,71;21,6\r\n"
      "4;02.11.2026;09:08:10;R1045;-;;21,6\r\n");
  EXPECT_TRUE(draft.is_clean);
  EXPECT_EQ(draft.records, 4u);
  EXPECT_THAT(draft.configuration, HasSubstr("      delimiter: \";\""));
  EXPECT_THAT(draft.configuration, HasSubstr("match: \"*.csv\""));
  EXPECT_THAT(draft.configuration, HasSubstr("timezone: FILL_IN"));
  EXPECT_THAT(draft.mapping, HasSubstr("  instrument: { value: FILL_IN }\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("  run: { from: no }\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("form: \"%d.%m.%Y %H:%M:%S\" or \"%m.%d.%Y %H:%M:%S\""));
  EXPECT_THAT(draft.mapping, HasSubstr("  stock_number: { from: item }\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("      \"A\": FILL_IN   # 3 times, first on line 2\n"
                                       "      \"-\": FILL_IN   # once, first on line 5\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("  temperature_c: { from: temp, decimal: \",\" }\n"));
}

TEST(QuayStreet, Counter2AppendsToOneFile) {
  const std::string head =
      "device,run,at,stock,verdict\nB-0042,501,2026-11-02 09:12:00,R1043,sim\n";
  const std::string more = head + "B-0042,502,2026-11-02 09:13:00,R1044,lab\n";
  const auto catalogue = reading::Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  const auto made = make_draft(catalogue, {{"early/log.csv", head}, {"late/log.csv", more}}, {});
  ASSERT_TRUE(made) << made.error().text;
  EXPECT_THAT(made->configuration, HasSubstr("content: growing"));
  EXPECT_THAT(made->configuration, HasSubstr("  - serial: B-0042\n"));
  EXPECT_THAT(made->mapping, HasSubstr("  instrument: { from: device }\n"));
  EXPECT_THAT(made->mapping, HasSubstr("measured_at: { from: at, form: \"%Y-%m-%d %H:%M:%S\" }"));
}

TEST(QuayStreet, Counter3SendsOneObjectALine) {
  const Draft draft = drafted(
      "line.json",
      "{\"device\":\"C-0007\",\"n\":71,\"at\":\"2026-11-02T09:20:00+01:00\",\"item\":\"R1048#1\","
      "\"result\":{\"code\":10,\"certainty\":99.2}}\n"
      "{\"device\":\"C-0007\",\"n\":72,\"at\":\"2026-11-02T09:21:00+01:00\",\"item\":\"R1048#1\","
      "\"result\":{\"code\":10,\"certainty\":99.2}}\n");
  EXPECT_THAT(draft.configuration, HasSubstr("reader: json"));
  EXPECT_THAT(draft.configuration, Not(HasSubstr("timezone")));  // the times say their offset
  EXPECT_THAT(draft.mapping, HasSubstr("  measured_at: { from: at }\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("    from: /result/code\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("confidence: { from: /result/certainty, unit: percent }"));
}

TEST(QuayStreet, TheStockListIsOneOfDeclarations) {
  const Draft draft =
      drafted("list.csv",
              "stock,identity,carat,colour,shape,value\n"
              "R1042,natural,0.53,F,round,1450\nR1046,laboratory_grown,1.50,E,round,880\n"
              "R1048#1,natural,0.10,G,round,\n");
  EXPECT_THAT(draft.mapping, HasSubstr("record: declaration"));
  EXPECT_THAT(draft.mapping, HasSubstr("  stock_number: { from: stock }\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("      \"natural\": FILL_IN"));
  EXPECT_THAT(draft.mapping, HasSubstr("  color: { from: colour }\n"));
  EXPECT_THAT(draft.mapping, HasSubstr("  value: { from: value }\n"));
  EXPECT_THAT(draft.configuration, Not(HasSubstr("instruments:")));
}

TEST(QuayStreet, AnEncodingThatCannotBeKnownIsAsked) {
  const Draft draft = drafted("a.csv",
                              "item;note\nR1042;Gr\xF6\xDF"
                              "e\n");
  EXPECT_THAT(draft.configuration, HasSubstr("encoding: FILL_IN   # windows-1252,"));
  EXPECT_THAT(draft.configuration, HasSubstr("windows-1252"));
  EXPECT_THAT(draft.configuration, HasSubstr(": Größe"));
}

TEST(QuayStreet, ARowThatNoReaderTakesIsTold) {
  const Draft draft =
      drafted("a.csv", "no;item;result\n1;R1042;A\n2;R1043;B\n3;R1044;A;x\n4;R1045;A\n");
  EXPECT_FALSE(draft.is_clean);
  EXPECT_THAT(
      draft.configuration,
      HasSubstr("# the reader sets aside a.csv, line 4: 4 fields where there are 3 columns"));
}

TEST(QuayStreet, AFileWithoutARecordGivesNoDraft) {
  const auto catalogue = reading::Catalogue::scan({GIRDLE_READER_FOLDER}, nullptr);
  const auto made = make_draft(catalogue, {{"a.csv", "item,result\n"}}, {});
  ASSERT_FALSE(made);
  EXPECT_THAT(made.error().text, HasSubstr("no reader finds a record in it"));
}

}  // namespace
}  // namespace girdle::draft
