// Promise 4: same ledger, same policy, same answer. Outcomes are computed again, and policies tried on the past.
#include "service/replay.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "service/backtest.h"
#include "service/random_documents.h"
#include "service/rules_of.h"
#include "service/temp_ledger.h"

namespace girdle::service {
namespace {

using base::Decimal;
using base::from_millis;
using model::Disposition;
using model::Finding;

// Each of another kind: required runs by a table, counts and priors, another climate, other reasons.
std::vector<casework::HouseSpec> policies() {
  casework::HouseSpec plain;
  casework::HouseSpec::Instrument& two_routes = plain.instruments.emplace_back();
  two_routes.serial = "A-0117";
  two_routes.bench = "counter-1";
  two_routes.cycle = std::chrono::seconds(45);
  two_routes.scope = {{"carat", {"[0.03..10]"}}, {"color", {"[D..J]"}}};
  two_routes.ambient = {{"temperature_c", {"[-5..23]"}}};
  plain.instruments.emplace_back().serial = "B-0042";
  plain.instruments.back().bench = "counter-2";

  casework::HouseSpec strict = plain;
  strict.version = "2";
  strict.required = 3;
  strict.reasons = {{"as_declared", {"{valid} runs agree."}}};

  casework::HouseSpec counted = plain;
  counted.version = "3";
  counted.priors = {{"", {*Decimal::parse("0.9"), *Decimal::parse("0.05"), 0, 0, *Decimal::parse("0.05")}}};
  counted.repeat_correlation = *Decimal::parse("0.4");
  for (casework::HouseSpec::Instrument& instrument : counted.instruments) {
    instrument.known_stones = {{{980, 0, 0, 0, 0, 20}, {10, 480, 0, 0, 0, 10}, {}, {}, {5, 0, 0, 0, 200, 0}}};
    instrument.known_stones_source = "invented";
  }
  counted.required_table = casework::table_of("FIRST", {"carat"}, "required", {{{"> 1"}, "4"}});
  return {plain, strict, counted};
}

class History {
 public:
  explicit History(const casework::HouseSpec& spec, std::optional<Rules> shadow = std::nullopt)
      : ledger_(temp_.open()), recorder_(*ledger_, clock_, "quay-street") {
    adopt(spec, std::move(shadow));
  }

  void adopt(const casework::HouseSpec& spec, std::optional<Rules> shadow = std::nullopt) {
    Adoption adoption = adoption_of(spec, {"till", "vault"});
    adoption.shadow = std::move(shadow);
    ASSERT_TRUE(ledger_->begin().ok());
    ASSERT_TRUE(recorder_.adopt(adoption).ok());
    ASSERT_TRUE(ledger_->commit().ok());
    recorder_.committed();
  }

  void record(const Batch& batch) {
    clock_.advance(base::Millis(1000));
    std::vector<model::Delivery> fresh;
    ASSERT_TRUE(ledger_->begin().ok());
    ASSERT_TRUE(recorder_.add(batch).ok());
    ASSERT_TRUE(recorder_.settle(fresh, 100).ok());
    ASSERT_TRUE(ledger_->commit().ok());
    recorder_.committed();
    for (model::Delivery& delivery : fresh) told.push_back(std::move(delivery));
  }

  // The subject's last case. False where it cannot be.
  bool decide(const std::string& key, Disposition disposition) {
    const auto subject = ledger_->find_subject(key);
    if (!subject) return false;
    const auto cases = ledger_->cases_of(*subject);
    if (!cases || cases->empty()) return false;
    const api::By by{"Kim", "seen under the microscope", ""};
    const api::DecideByHand deed{cases->back().number, cases->back().sequence, disposition, by};
    std::vector<model::Delivery> fresh;
    EXPECT_TRUE(ledger_->begin().ok());
    const auto fate = recorder_.decide_by_hand(deed, fresh, 100);
    EXPECT_TRUE(fate.ok() && ledger_->commit().ok());
    recorder_.committed();
    for (model::Delivery& delivery : fresh) told.push_back(std::move(delivery));
    return fate->kind == HandFate::Kind::kDone;
  }

  // One document with a run of each finding, for one stone.
  void measure(const std::string& stock, const std::vector<Finding>& findings, std::optional<Decimal> value = {}) {
    Batch batch;
    batch.document.intake = "exports";
    batch.document.name = stock + std::to_string(documents_);
    batch.document.digest = base::sha256(batch.document.name);
    batch.document.came_at = clock_.now();
    if (value) {
      model::Declaration& d = batch.records.declarations.emplace_back();
      d.stock_number = stock;
      d.identity = Finding::kNatural;
      d.carat = Decimal::parse("0.5");
      d.value = value;
    }
    for (const Finding finding : findings) {
      model::Reading& r = batch.records.readings.emplace_back();
      r.instrument = "A-0117";
      r.run = std::to_string(++runs_);
      r.stock_number = stock;
      r.finding = finding;
      r.carat = Decimal::parse("0.5");
      r.measured_at = from_millis(kStart + runs_ * 60'000);
      r.place.offset = static_cast<uint64_t>(runs_);
    }
    ++documents_;
    record(batch);
  }

  ledger::Ledger& ledger() { return *ledger_; }
  HouseShelf& shelf() { return shelf_; }
  std::vector<model::Delivery> told;

 private:
  TempLedger temp_;
  base::ManualClock clock_{from_millis(kStart)};
  std::unique_ptr<ledger::Ledger> ledger_;
  Recorder recorder_;
  HouseShelf shelf_{*ledger_};
  int64_t runs_ = 0, documents_ = 0;
};

std::string json(const model::Outcome& outcome) {
  std::string out;
  model::write_json(out, outcome);
  return out;
}

// Whatever came, in whatever order, by whichever policies: what is stored comes out again, byte for byte, and what an
// outlet was told is what it would be told now.
TEST(Replay, OfEveryOldOutcomeIsTheStoredOneByteForByte) {
  const std::vector<casework::HouseSpec> all = policies();
  int64_t outcomes = 0, beyond_last = 0, detailed = 0, by_hand = 0;
  const auto [first, end] = seeds(300);
  for (unsigned seed = first; seed < end; ++seed) {
    std::mt19937 random(seed);
    std::vector<Batch> documents = random_documents(random);
    std::ranges::shuffle(documents, random);
    History history(all[seed % 3]);
    for (size_t i = 0; i < documents.size(); ++i) {
      if (random() % 6 == 0) history.adopt(all[random() % 3]);
      history.record(documents[i]);
      if (random() % 4 == 0) by_hand += history.decide("R10" + std::to_string(random() % 3), Disposition::kRelease);
    }
    ledger::Ledger& ledger = history.ledger();
    const auto walked = ledger.each_history([&](const ledger::SubjectHistory& of) -> base::Result<void> {
      for (const ledger::OutcomeRow& row : of.outcomes) {
        auto basis = basis_of(ledger, of, row);
        EXPECT_TRUE(basis.ok() && *basis);
        auto house = history.shelf().at(row.house);
        EXPECT_TRUE(house.ok());
        const model::Decision again = decide_again(**basis, **house);
        if (!row.hand) {
          EXPECT_EQ(again, row.decision);
        }
        EXPECT_EQ(again.evidence, row.decision.evidence);
        EXPECT_EQ(model::evidence_detail(again.evidence), model::evidence_detail(row.decision.evidence));
        EXPECT_EQ(again.evidence.stone.kind, row.kind);
        ++outcomes;
        detailed += row.decision.evidence.probability.has_value();
        beyond_last += &row != &of.outcomes.back();
      }
      return {};
    });
    ASSERT_TRUE(walked.ok()) << walked.error().text;
    for (const model::Delivery& delivery : history.told) {
      const auto number = ledger.case_number(delivery.outcome.case_id);
      ASSERT_TRUE(number);
      const auto again = told_outcome(ledger, history.shelf(), *number, delivery.outcome.sequence, "quay-street");
      ASSERT_TRUE(again.ok());
      EXPECT_EQ(json(*again), json(delivery.outcome));
    }
    if (HasFailure()) FAIL() << "seed " << seed;
  }
  EXPECT_GT(outcomes, 2000);
  EXPECT_GT(by_hand, 300) << "hardly any was decided by hand";
  EXPECT_GT(beyond_last, 500) << "hardly any old outcome was computed again";
  EXPECT_GT(detailed, 200) << "hardly any evidence had a probability";
}

TEST(Backtest, ReplaysTheHistoryAndTellsWhatAnotherPolicyWouldChange) {
  History history(policies()[0]);
  history.measure("R1", {Finding::kNatural, Finding::kNatural}, Decimal(500));
  history.measure("R2", {Finding::kNatural, Finding::kNatural, Finding::kNatural}, Decimal(500));
  history.measure("R3", {Finding::kSimulant, Finding::kSimulant}, Decimal(500));
  const casework::House strict = casework::house_of(policies()[1]);
  std::vector<ChangedCase> changed;
  const auto report = backtest(history.ledger(), history.shelf(), strict, {}, [&](const ChangedCase& c) { changed.push_back(c); });
  ASSERT_TRUE(report.ok()) << report.error().text;
  EXPECT_EQ(report->outcomes, 3);
  EXPECT_EQ(report->replayed, 3);
  EXPECT_EQ(report->mismatched + report->unknown, 0);
  EXPECT_EQ(report->cases, 3);
  const auto at = [&](Disposition from, Disposition to) {
    return report->matrix[static_cast<size_t>(from)][static_cast<size_t>(to)];
  };
  EXPECT_EQ(at(Disposition::kRelease, Disposition::kRepeat), 1);
  EXPECT_EQ(at(Disposition::kRelease, Disposition::kRelease), 1);
  EXPECT_EQ(at(Disposition::kReject, Disposition::kRepeat), 1);
  ASSERT_EQ(changed.size(), 3u) << "R2 is released all the same, and is asked for more";
  EXPECT_EQ(changed[0].key, "R1");
  EXPECT_EQ(changed[0].old_verdict.rule, 12);
  EXPECT_EQ(changed[0].new_verdict.rule, 6);
  EXPECT_EQ(changed[0].new_verdict.reason, "more_readings_needed");
}

TEST(Backtest, LooksAtCasesOfItsSpanOnly) {
  History history(policies()[0]);
  history.measure("R1", {Finding::kNatural, Finding::kNatural});
  history.measure("R2", {Finding::kNatural, Finding::kNatural});
  const casework::House strict = casework::house_of(policies()[1]);
  const auto nothing = [](const ChangedCase&) {};
  EXPECT_EQ(backtest(history.ledger(), history.shelf(), strict, {from_millis(kStart + 1500)}, nothing)->cases, 1);
  EXPECT_EQ(backtest(history.ledger(), history.shelf(), strict, {from_millis(kStart + 9000)}, nothing)->cases, 0);
}

// A ledger that somebody has changed does not pass for a history.
TEST(Backtest, TellsAnOutcomeThatDoesNotFollowFromItsReadings) {
  History history(policies()[0]);
  history.measure("R1", {Finding::kNatural, Finding::kNatural});
  ledger::Ledger& ledger = history.ledger();
  ledger::OutcomeRow forged;
  ASSERT_TRUE(ledger.each_history([&](const ledger::SubjectHistory& of) -> base::Result<void> {
    forged = of.outcomes.back();
    return {};
  }).ok());
  forged.sequence = 2;
  forged.decision.disposition = Disposition::kReject;
  ASSERT_TRUE(ledger.begin().ok());
  ASSERT_TRUE(ledger.add_outcome(forged).ok());
  ASSERT_TRUE(ledger.commit().ok());
  const auto report = backtest(ledger, history.shelf(), casework::default_house(), {}, [](const ChangedCase&) {});
  ASSERT_TRUE(report.ok());
  EXPECT_EQ(report->mismatched, 1);
  ASSERT_EQ(report->mismatches.size(), 1u);
  EXPECT_EQ(report->mismatches[0].key, "R1");
  EXPECT_EQ(report->mismatches[0].sequence, 2);
  EXPECT_THAT(report->mismatches[0].text, testing::StartsWith("stored is reject"));
}

// What a person decided is theirs: no policy is measured by it.
TEST(Backtest, CountsWhatAPersonDecidedApart) {
  History history(policies()[0], rules_of(policies()[1]));
  history.measure("R1", {Finding::kNatural, Finding::kSimulant});
  history.measure("R2", {Finding::kNatural, Finding::kNatural});
  ASSERT_TRUE(history.decide("R1", Disposition::kRelease));
  const casework::House strict = casework::house_of(policies()[1]);
  std::vector<std::string> changed;
  const auto on_changed = [&](const ChangedCase& c) { changed.push_back(c.key); };
  const auto report = backtest(history.ledger(), history.shelf(), strict, {}, on_changed);
  ASSERT_TRUE(report.ok());
  EXPECT_EQ(report->outcomes, 3);
  EXPECT_EQ(report->replayed, 2);
  EXPECT_EQ(report->by_hand, 1);
  EXPECT_EQ(report->mismatched, 0);
  EXPECT_EQ(report->cases, 1);
  EXPECT_EQ(report->cases_by_hand, 1);
  EXPECT_THAT(changed, testing::ElementsAre("R2"));
  const auto shadows = history.ledger().shadows_of(ledger::first_case_of(*history.ledger().find_subject("R1")));
  ASSERT_EQ(shadows->size(), 2u) << "of the outcome by hand too";
  const auto compared = compare_shadow(history.ledger(), history.shelf(), shadows->front().house, {}, on_changed);
  ASSERT_TRUE(compared.ok());
  EXPECT_EQ(compared->cases, 1);
  EXPECT_EQ(compared->cases_by_hand, 1);
}

// A person's outcome whose evidence was changed behind the program's back does not pass either.
TEST(Backtest, TellsAnOutcomeByHandWhoseEvidenceDoesNotFollow) {
  History history(policies()[0]);
  history.measure("R1", {Finding::kNatural, Finding::kSimulant});
  ASSERT_TRUE(history.decide("R1", Disposition::kRelease));
  ledger::Ledger& ledger = history.ledger();
  const ledger::Number number = ledger::first_case_of(*ledger.find_subject("R1"));
  ledger::OutcomeRow forged = ledger.outcome(number, 2)->value();
  forged.sequence = 3;
  forged.decision.evidence.valid = 7;
  ASSERT_TRUE(ledger.begin().ok() && ledger.add_outcome(forged).ok() && ledger.commit().ok());
  const auto report = backtest(ledger, history.shelf(), casework::default_house(), {}, [](const ChangedCase&) {});
  ASSERT_TRUE(report.ok());
  EXPECT_EQ(report->by_hand, 1);
  EXPECT_EQ(report->mismatched, 1);
}

TEST(Shadow, AnswersAreRecordedAndComparedAndNeverDelivered) {
  History history(policies()[0], rules_of(policies()[1]));
  history.measure("R1", {Finding::kNatural, Finding::kNatural}, Decimal(500));
  for (const model::Delivery& delivery : history.told) {
    EXPECT_EQ(delivery.outcome.decision.disposition, Disposition::kRelease);
    EXPECT_EQ(delivery.outcome.policy.version, "1");
  }
  EXPECT_EQ(history.told.size(), 2u) << "one for each outlet";
  ledger::Ledger& ledger = history.ledger();
  const auto number = ledger.case_number(history.told.front().outcome.case_id);
  const auto shadows = ledger.shadows_of(*number);
  ASSERT_TRUE(shadows.ok());
  ASSERT_EQ(shadows->size(), 1u);
  EXPECT_EQ(shadows->front().disposition, Disposition::kRepeat);
  std::vector<ChangedCase> changed;
  const auto report = compare_shadow(ledger, history.shelf(), shadows->front().house, {},
                                     [&](const ChangedCase& c) { changed.push_back(c); });
  ASSERT_TRUE(report.ok());
  EXPECT_EQ(report->cases, 1);
  ASSERT_EQ(changed.size(), 1u);
  EXPECT_EQ(changed[0].old_verdict.disposition, Disposition::kRelease);
  EXPECT_EQ(changed[0].new_verdict.reason, "more_readings_needed");
}

TEST(Activation, IsKeptOnceForEachPolicyThatComesIntoForce) {
  History history(policies()[0]);
  history.adopt(policies()[0]);
  history.adopt(policies()[1]);
  history.adopt(policies()[0]);
  std::vector<std::string> versions;
  ASSERT_TRUE(history.ledger().each_activation([&](const ledger::Activation&, const model::PolicyStamp& stamp) {
    versions.push_back(stamp.version);
  }).ok());
  EXPECT_THAT(versions, testing::ElementsAre("1", "2", "1"));
}

// "Every outlet" of promise 5 is whom the policy names, and whoever heard of the case before.
TEST(Routing, TellsWhomThePolicyNamesAndWhoHeardBefore) {
  casework::HouseSpec spec = policies()[0];
  spec.routing = casework::table_of("COLLECT", {"disposition"}, "outlet",
                                    {{{"\"release\""}, "\"till\""}, {{"\"refer\""}, "\"vault\""}});
  History history(spec);
  history.measure("R1", {Finding::kNatural}, Decimal(500));
  EXPECT_EQ(history.told.size(), 0u) << "repeat is told to nobody";
  history.measure("R1", {Finding::kNatural});
  ASSERT_EQ(history.told.size(), 1u);
  history.measure("R1", {Finding::kSimulant});
  const auto number = history.ledger().case_number(history.told.front().outcome.case_id);
  std::vector<std::string> heard;
  ASSERT_TRUE(history.ledger().each_delivery({}, [&](const ledger::DeliveryRow& row, const std::string& outlet, const std::string&) {
    if (row.case_number == *number) heard.push_back(outlet + " " + std::to_string(row.sequence));
  }).ok());
  EXPECT_THAT(heard, testing::UnorderedElementsAre("till 2", "till 3", "vault 3"));
}

}  // namespace
}  // namespace girdle::service
