// Outcomes through the table and back.
#include <gtest/gtest.h>

#include <random>

#include "ledger/ledger.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

using base::Decimal;
using base::from_millis;
using model::Evidence;
using model::Finding;

Evidence rich_evidence() {
  Evidence e;
  e.valid = 3;
  e.voids = 1;
  e.discounted = 2;
  e.required = 5;
  e.instruments = 2;
  e.dissent = 1;
  e.finding = Evidence::Common::kMixed;
  e.scope = model::Scope::kIn;
  e.instrument = model::Fitness::kFit;
  e.declared = Finding::kNatural;
  e.said = {{Finding::kNatural, "A-0117", 2}, {Finding::kLaboratoryGrown, "B \"22\" é", 1}};
  e.stone.kind = model::SubjectKind::kPiece;
  e.stone.carat = Decimal::parse("0.531");
  e.stone.value = Decimal::parse("1200");
  e.stone.stones = Decimal(3);
  e.stone.color = "E";
  e.stone.shape = "round";
  e.stone.mount = "ring";
  e.stone.channel = "walk-in";
  e.probability = {Finding::kNatural, *Decimal::parse("0.998712"), *Decimal::parse("0.981"), *Decimal::parse("0.999999")};
  e.error_limits = model::ErrorLimits::kOpen;
  e.more_runs = 2;
  e.carat_estimate = {*Decimal::parse("0.5234"), *Decimal::parse("0.5029"), *Decimal::parse("0.5439"), true};
  return e;
}

OutcomeRow outcome_row(Number case_number, int64_t sequence, const Evidence& evidence) {
  OutcomeRow row;
  row.case_number = case_number;
  row.sequence = sequence;
  row.decision.disposition = model::Disposition::kRefer;
  row.decision.reason = "findings_differ";
  row.decision.rule = 4;
  row.decision.evidence = evidence;
  row.previous = model::Disposition::kRepeat;
  row.kind = model::SubjectKind::kPiece;
  row.duplicates = 7;
  row.house = 1;
  row.decided_at = from_millis(1700000000000);
  return row;
}

void expect_equal(const OutcomeRow& a, const OutcomeRow& b) {
  EXPECT_EQ(a.decision, b.decision);
  EXPECT_EQ(a.measured, b.measured);
  EXPECT_EQ(a.previous, b.previous);
  EXPECT_EQ(std::tuple(a.case_number, a.sequence, a.kind, a.duplicates, a.declaration, a.merged_into, a.house, a.decided_at),
            std::tuple(b.case_number, b.sequence, b.kind, b.duplicates, b.declaration, b.merged_into, b.house, b.decided_at));
}

class OutcomeTable : public testing::Test {
 protected:
  OutcomeTable() : ledger_(temp_.open()) {}

  void add(const OutcomeRow& row) {
    ASSERT_TRUE(ledger_->begin().ok());
    const auto added = ledger_->add_outcome(row);
    ASSERT_TRUE(added.ok()) << added.error().text;
    ASSERT_TRUE(ledger_->commit().ok());
  }

  OutcomeRow read(Number case_number, int64_t sequence) {
    auto found = ledger_->outcome(case_number, sequence);
    EXPECT_TRUE(found.ok()) << found.error().text;
    EXPECT_TRUE(found.ok() && found->has_value());
    return found.ok() && *found ? **found : OutcomeRow();
  }

  // What every way to the outcome says of it, after `sql` has changed its row.
  std::string damage(const char* sql) {
    execute(temp_.path(), sql);
    const auto found = ledger_->outcome(65536, 1);
    if (found) return "no error";
    EXPECT_EQ(found.error().fault, base::Fault::kInput);
    const std::string text = found.error().text;
    EXPECT_EQ(ledger_->full_outcome(65536, 1, "quay-street").error().text, text);
    size_t seen = 0;
    const auto listed = ledger_->each_case({}, [&](const CaseLine&) { ++seen; });
    EXPECT_FALSE(listed.ok());
    EXPECT_EQ(listed.error().text, text);
    EXPECT_EQ(ledger_->each_history([](const SubjectHistory&) { return base::Result<void>(); }).error().text, text);
    EXPECT_EQ(seen, 0u);
    return text;
  }

  // A case with a subject, so that the lists show it.
  void add_whole_case(const OutcomeRow& outcome) {
    ASSERT_TRUE(ledger_->begin().ok());
    bool fresh = false;
    const auto subject = ledger_->subject("R1042", &fresh);
    ASSERT_TRUE(subject.ok());
    CaseRow row;
    row.number = first_case_of(*subject);
    row.sequence = 1;
    ASSERT_EQ(row.number, outcome.case_number);
    ASSERT_TRUE(ledger_->put_case(row, true).ok());
    ASSERT_TRUE(ledger_->commit().ok());
    add(outcome);
  }

  TempLedger temp_;
  std::unique_ptr<Ledger> ledger_;
};

TEST_F(OutcomeTable, GivesBackAllOfTheEvidence) {
  OutcomeRow row = outcome_row(65536, 1, rich_evidence());
  row.measured = {{12, 14}, {13, 0}};
  add(row);
  expect_equal(read(65536, 1), row);
}

TEST_F(OutcomeTable, WhereThereIsNoDetailTheColumnIsNull) {
  Evidence counts;
  counts.valid = counts.required = counts.instruments = 1;
  add(outcome_row(65536, 1, counts));
  expect_equal(read(65536, 1), outcome_row(65536, 1, counts));
  EXPECT_EQ(value(temp_.path(), "SELECT evidence IS NULL AND measured IS NULL FROM outcome"), "1");
}

TEST_F(OutcomeTable, EachPartOfTheDetailStandsForItself) {
  const Evidence all = rich_evidence();
  std::vector<Evidence> parts(7);
  parts[0].said = all.said;
  parts[1].stone = all.stone;
  parts[2].probability = all.probability;
  parts[3].error_limits = model::ErrorLimits::kMet;
  parts[4].more_runs = 0;
  parts[5].carat_estimate = all.carat_estimate;
  parts[6].carat_estimate = all.carat_estimate;
  parts[6].carat_estimate->plausible.reset();
  for (size_t i = 0; i < parts.size(); ++i) {
    const auto sequence = static_cast<int64_t>(i + 1);
    add(outcome_row(65536, sequence, parts[i]));
    EXPECT_EQ(read(65536, sequence).decision.evidence, parts[i]) << i;
  }
}

TEST_F(OutcomeTable, TellsNoReadingFromReadingsThatAreNotKnown) {
  OutcomeRow none = outcome_row(65536, 1, {}), unknown = outcome_row(65536, 2, {});
  none.measured.emplace();
  add(none);
  add(unknown);
  EXPECT_EQ(read(65536, 1).measured, std::vector<Measured>());
  EXPECT_EQ(read(65536, 2).measured, std::nullopt);
}

TEST_F(OutcomeTable, GivesBackAnyListOfReadings) {
  std::mt19937_64 random(7);
  ASSERT_TRUE(ledger_->begin().ok());
  std::vector<OutcomeRow> added;
  for (int64_t sequence = 1; sequence <= 500; ++sequence) {
    OutcomeRow& row = added.emplace_back(outcome_row(65536, sequence, {}));
    row.measured.emplace(random() % 9);
    for (Measured& m : *row.measured) {
      m.reading = static_cast<Number>(1 + (random() >> (2 + random() % 60)));
      if (random() % 3 == 0) m.second = static_cast<Number>(1 + (random() >> (2 + random() % 60)));
    }
    ASSERT_TRUE(ledger_->add_outcome(row).ok());
  }
  ASSERT_TRUE(ledger_->commit().ok());
  for (const OutcomeRow& row : added) EXPECT_EQ(read(65536, row.sequence).measured, row.measured);
}

TEST_F(OutcomeTable, TheFullOutcomeHasTheEvidenceAndTheStampOfItsRules) {
  ASSERT_TRUE(ledger_->begin().ok());
  const model::PolicyStamp stamp{"quay-street", "3", "sha256:07"};
  const auto house = ledger_->house(stamp, "policy: {}", from_millis(5));
  ASSERT_TRUE(house.ok() && ledger_->commit().ok());
  OutcomeRow row = outcome_row(65536, 1, rich_evidence());
  row.house = *house;
  add_whole_case(row);
  const auto full = ledger_->full_outcome(65536, 1, "quay-street");
  ASSERT_TRUE(full.ok()) << full.error().text;
  EXPECT_EQ(full->decision, row.decision);
  EXPECT_EQ(full->policy, stamp);
  EXPECT_EQ(full->stock_number, "R1042");
  EXPECT_TRUE(full->reasons.empty()) << "they follow from the rules, which the ledger does not know";
}

TEST_F(OutcomeTable, EvidenceThatIsNoneIsDamageAndSaysWhere) {
  add_whole_case(outcome_row(65536, 1, rich_evidence()));
  for (const char* const sql : {"UPDATE outcome SET evidence = '{'", "UPDATE outcome SET evidence = '[]'",
                                "UPDATE outcome SET evidence = '{\"more_runs\":\"many\"}'",
                                "UPDATE outcome SET evidence = CAST('{}' AS BLOB)"}) {
    const std::string text = damage(sql);
    EXPECT_NE(text.find("it is damaged: the evidence of outcome 1 of case 65536 is no evidence"), std::string::npos)
        << sql << ": " << text;
    EXPECT_NE(text.find("restore it from a copy"), std::string::npos);
  }
}

TEST_F(OutcomeTable, ReadingsThatAreNoListAreDamageAndSayWhere) {
  add_whole_case(outcome_row(65536, 1, {}));
  for (const char* const sql : {"UPDATE outcome SET measured = X'0A'", "UPDATE outcome SET measured = X'0000'",
                                "UPDATE outcome SET measured = 'x'", "UPDATE outcome SET measured = 10"}) {
    const std::string text = damage(sql);
    EXPECT_NE(text.find("the readings that outcome 1 of case 65536 rests on are no list of readings"), std::string::npos)
        << sql << ": " << text;
  }
  execute(temp_.path(), "UPDATE outcome SET measured = X''");
  EXPECT_EQ(read(65536, 1).measured, std::vector<Measured>()) << "the ledger reads on after damage was met";
}

}  // namespace
}  // namespace girdle::ledger
