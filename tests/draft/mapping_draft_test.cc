#include "draft/mapping_draft.h"

#include <gmock/gmock.h>

#include "draft/stand_in.h"

namespace girdle::draft {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using Rows = std::vector<std::vector<std::string>>;

// The first row names the columns. A text "~" is a field that the record lacks.
std::vector<RawRecord> records(const Rows& rows) {
  std::vector<RawRecord> out;
  for (size_t i = 1; i < rows.size(); ++i) {
    RawRecord& record = out.emplace_back();
    record.line = i + 1;
    for (size_t c = 0; c < rows[i].size(); ++c) {
      if (rows[i][c] != "~") record.fields.emplace_back(rows.front()[c], rows[i][c]);
    }
  }
  return out;
}

MappingDraft drafted(const Rows& rows) { return draft_mapping(records(rows), std::nullopt); }

const FieldDraft& field(const MappingDraft& draft, std::string_view name) {
  static const FieldDraft none;
  for (const FieldDraft& one : draft.fields) {
    if (one.field == name) return one;
  }
  ADD_FAILURE() << "no field " << name;
  return none;
}

std::string key(const FieldDraft& field, std::string_view name) {
  for (const Setting& setting : field.keys) {
    if (setting.name == name) return setting.value;
  }
  return {};
}

std::string evidence(const FieldDraft& field) {
  std::string all;
  for (const std::string& line : field.evidence) all += line + '\n';
  return all;
}

const Rows kCounter1 = {{"no", "date", "time", "item", "result", "weight", "temp"},
                        {"1", "02.11.2026", "10:15:30", "R1042", "A", "0,53", "21,5"},
                        {"2", "13.11.2026", "10:16:40", "R1042", "A", "0,53", "21,5"},
                        {"3", "13.11.2026", "10:18:05", "R1043", "Q", "0,71", "21,6"}};

TEST(MappingDraft, TakesEachColumnForTheFieldThatItsNameAndTextsSay) {
  const MappingDraft draft = drafted(kCounter1);
  EXPECT_EQ(draft.record, model::RecordKind::kReading);
  EXPECT_THAT(field(draft, "run").from, ElementsAre("no"));
  EXPECT_THAT(field(draft, "measured_at").from, ElementsAre("date", "time"));
  EXPECT_EQ(key(field(draft, "measured_at"), "form"), "%d.%m.%Y %H:%M:%S");
  EXPECT_THAT(field(draft, "stock_number").from, ElementsAre("item"));
  EXPECT_THAT(field(draft, "carat").from, ElementsAre("weight"));
  EXPECT_EQ(key(field(draft, "carat"), "decimal"), ",");
  EXPECT_EQ(key(field(draft, "carat"), "unit"), kFillIn);  // "weight" says no unit
  EXPECT_TRUE(draft.has_local_times);
  EXPECT_THAT(draft.left, IsEmpty());
}

TEST(MappingDraft, NeverSaysWhatAResultWordMeans) {
  Rows rows = kCounter1;
  rows[1][4] = "natural";  // one of our own words is the instrument's all the same
  rows[2][4] = "void";
  const MappingDraft draft = drafted(rows);
  const FieldDraft& finding = field(draft, "finding");
  ASSERT_EQ(finding.words.size(), 3u);
  for (const WordDraft& word : finding.words) EXPECT_EQ(word.ours, kFillIn) << word.theirs;
  EXPECT_EQ(finding.words[2].theirs, "Q");
  EXPECT_EQ(finding.words[2].evidence, "once, first on line 4");
}

TEST(MappingDraft, TakesNoMeasuredNumberForAWord) {
  const MappingDraft draft = drafted({{"item", "result", "mode"},
                                      {"R1", "0.295", "x"},
                                      {"R2", "0.312", "x"},
                                      {"R3", "0.313", "y"},
                                      {"R4", "0.314", "y"}});
  EXPECT_THAT(field(draft, "finding").from, ElementsAre(kFillIn));
}

// The reader astm names a field and its components.
TEST(MappingDraft, TakesTheComponentWithTheWordAndNotTheWhole) {
  const MappingDraft draft =
      drafted({{"O.3", "R.4", "R.4.1"}, {"R1", "N^93", "N"}, {"R2", "N^95", "N"}});
  EXPECT_THAT(field(draft, "finding").from, ElementsAre("R.4.1"));
}

TEST(MappingDraft, TakesTheUnitThatStandsBesideEachNumber) {
  const MappingDraft draft = drafted({{"@id", "weight", "weight/@unit"}, {"R1", "0.1", "g"}});
  EXPECT_EQ(key(field(draft, "carat"), "unit"), "g");
}

TEST(MappingDraft, FindsWhatHasNoNamesThoughNotAllOfItLooksAlike) {
  const MappingDraft draft = drafted({{"c1", "c2", "c3"},
                                      {"R1042", "natural", "IIa"},
                                      {"00123", "simulant", ""},
                                      {"R-77/4", "natural", "Ib"},
                                      {"R1050#2", "treated", "IIa"}});
  EXPECT_THAT(field(draft, "stock_number").from, ElementsAre("c1"));
  EXPECT_THAT(field(draft, "finding").from, ElementsAre("c2"));
  EXPECT_THAT(field(draft, "diamond_type").from, ElementsAre("c3"));
  for (const WordDraft& word : field(draft, "finding").words) EXPECT_EQ(word.ours, kFillIn);
}

TEST(MappingDraft, ShowsAFieldAndItsOnlyPartOnce) {
  const MappingDraft draft = drafted({{"P.2", "P.2.1", "O.5", "O.5.1"}, {"1", "1", "a^b", "a"}});
  std::string left;
  for (const std::string& line : draft.left) left += line + '\n';
  EXPECT_THAT(left, HasSubstr("{ from: O.5.1 }"));
  EXPECT_THAT(left, testing::Not(HasSubstr("{ from: P.2.1 }")));
}

TEST(MappingDraft, NeverSaysWhatAListDeclares) {
  const MappingDraft draft = drafted({{"stock", "identity", "carat"}, {"R1", "natural", "0.53"}});
  EXPECT_EQ(draft.record, model::RecordKind::kDeclaration);
  EXPECT_EQ(field(draft, "identity").words.front().ours, kFillIn);
}

TEST(MappingDraft, AsksForTheWordOfAnEmptyResult) {
  Rows rows = kCounter1;
  rows[2][4] = "";
  const MappingDraft draft = drafted(rows);
  EXPECT_EQ(field(draft, "finding").words.back().theirs, "");
}

TEST(MappingDraft, LeavesTheDayAndTheMonthOpenWithBothFormsNamed) {
  Rows rows = kCounter1;
  rows[2][1] = rows[3][1] = "02.11.2026";
  const MappingDraft draft = drafted(rows);
  const FieldDraft& time = field(draft, "measured_at");
  ASSERT_TRUE(time.keys.front().is_open());
  EXPECT_THAT(time.keys.front().candidates, ElementsAre("%d.%m.%Y %H:%M:%S", "%m.%d.%Y %H:%M:%S"));
}

TEST(MappingDraft, AsksForTheSerialNumberThatNoColumnHas) {
  EXPECT_EQ(field(drafted(kCounter1), "instrument").value, kFillIn);
  const MappingDraft hinted =
      draft_mapping(records(kCounter1), std::nullopt, {"line 1 says \"Serial\": \"A-0117\""});
  EXPECT_THAT(evidence(field(hinted, "instrument")), HasSubstr("A-0117"));
}

TEST(MappingDraft, DoesNotTakeRunNumbersThatComeAgain) {
  Rows rows = kCounter1;
  rows[3][0] = "1";
  EXPECT_TRUE(field(drafted(rows), "run").only_offered);
}

TEST(MappingDraft, LeavesOutWhatWouldSetItsRecordAside) {
  Rows rows = kCounter1;
  rows[3][5] = "0,00";
  const MappingDraft draft = drafted(rows);
  EXPECT_TRUE(field(draft, "carat").only_offered);
  EXPECT_THAT(evidence(field(draft, "carat")), HasSubstr("would set its record aside"));
}

TEST(MappingDraft, SaysOfEachColumnThatItLeavesOutWhatIsInIt) {
  Rows rows = kCounter1;
  for (auto& row : rows) row.push_back(row == rows.front() ? "firmware" : "1.2.3");
  EXPECT_THAT(drafted(rows).left,
              ElementsAre(HasSubstr("extra.firmware: { from: firmware }   # always \"1.2.3\"")));
}

TEST(MappingDraft, FindsFieldsByTheirTextsWhereNoNamesAre) {
  const MappingDraft draft = drafted({{"1", "2", "3", "4", "5"},
                                      {"B-0042", "501", "2026-11-02 09:12:00", "R1043", "sim"},
                                      {"B-0042", "502", "2026-11-02 09:13:00", "R1044", "lab"},
                                      {"B-0042", "503", "2026-11-02 09:14:00", "R1044", "lab"},
                                      {"B-0042", "504", "2026-11-02 09:16:00", "R1046", "lab"}});
  EXPECT_THAT(field(draft, "instrument").from, ElementsAre("1"));
  EXPECT_THAT(field(draft, "run").from, ElementsAre("2"));
  EXPECT_THAT(field(draft, "measured_at").from, ElementsAre("3"));
  EXPECT_THAT(field(draft, "stock_number").from, ElementsAre("4"));
  EXPECT_THAT(field(draft, "finding").from, ElementsAre("5"));
}

TEST(MappingDraft, TakesADecimalMarkThatOtherColumnsShow) {
  Rows rows = kCounter1;
  rows[1][5] = rows[2][5] = rows[3][5] = "1,234";
  EXPECT_EQ(key(field(drafted(rows), "carat"), "decimal"), ",");
  for (size_t i = 1; i < rows.size(); ++i) rows[i][6] = "21";
  EXPECT_EQ(key(field(drafted(rows), "carat"), "decimal"), kFillIn);
}

TEST(MappingDraft, DoesNotTakeATemperatureForATimeOfDay) {
  const MappingDraft draft = drafted({{"date", "temp", "result"}, {"22.11.2026", "21.5", "A"}});
  EXPECT_THAT(field(draft, "measured_at").from, ElementsAre("date"));
  EXPECT_THAT(field(draft, "temperature_c").from, ElementsAre("temp"));
}

TEST(MappingDraft, TakesTheUnitThatStandsBehindEachNumber) {
  Rows rows = kCounter1;
  for (size_t i = 1; i < rows.size(); ++i) rows[i][5] += " mg", rows[i][6] += " °F";
  const MappingDraft draft = drafted(rows);
  EXPECT_EQ(key(field(draft, "carat"), "unit"), "mg");
  EXPECT_EQ(key(field(draft, "carat"), "match"), "(.*[0-9]) *mg");
  EXPECT_EQ(key(field(draft, "carat"), "decimal"), ",");
  EXPECT_EQ(key(field(draft, "temperature_c"), "unit"), "F");
}

// Objects that have each a name of their own would be as many columns as records.
TEST(Columns, AreBoundedHoweverManyNamesThereAre) {
  std::vector<RawRecord> records(3'000);
  for (size_t i = 0; i < records.size(); ++i) {
    records[i].fields = {{"k" + std::to_string(i), "x"}};
  }
  const std::vector<Column> columns = columns_of(records);
  ASSERT_EQ(columns.size(), kMostColumns);
  EXPECT_EQ(columns.back().name, "k999");
  EXPECT_EQ(columns.back().filled(), 1u);
}

TEST(MappingDraft, TellsAPercentageFromASize) {
  const MappingDraft draft = drafted({{"item", "result", "table"}, {"R1", "A", "57"}});
  EXPECT_TRUE(field(draft, "table_mm").only_offered);
}

TEST(MappingDraft, KnowsThatRecordsMayLeaveFieldsOut) {
  Rows rows = kCounter1;
  rows[2][4] = "~";
  EXPECT_THAT(evidence(field(drafted(rows), "finding")), HasSubstr("1 record without it"));
}

TEST(StandIn, IsAMappingThatCanBeTried) {
  const model::Mapping mapping = stand_in(drafted(kCounter1));
  ASSERT_FALSE(mapping.fields.empty());
  for (const model::FieldRule& rule : mapping.fields) {
    EXPECT_NE(rule.constant, kFillIn);
    EXPECT_NE(rule.form, kFillIn);
    EXPECT_NE(rule.unit, kFillIn);
    for (const auto& [theirs, ours] : rule.words) EXPECT_NE(ours, kFillIn);
  }
}

}  // namespace
}  // namespace girdle::draft
