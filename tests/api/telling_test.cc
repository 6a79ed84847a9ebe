// What the routes answer, in a shop of a few stones in a real ledger. Shapes, examples, and requests by the thousand
// are tests/npm/check_openapi.mjs; here is what they mean.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <simdjson.h>

#include "api/case_line.h"
#include "api/shop.h"

namespace girdle::api {
namespace {

using simdjson::dom::element;
using testing::ElementsAre;
using testing::HasSubstr;

class Telling : public testing::Test {
 protected:
  element ask(const std::string& address, int status = 200) { return parsed(shop_.ask(get(address)), status); }
  element ask_post(const std::string& address, const std::string& body, int status) {
    return parsed(shop_.ask(post(address, body)), status);
  }

  element parsed(Response response, int status) {
    EXPECT_EQ(response.status, status) << response.body;
    body_ = std::move(response.body);
    content_type_ = response.content_type;
    return parser_.parse(body_);
  }

  // "/items/0/id" of each item: {"/id"} of all.
  std::vector<std::string> of_all(element list, const std::string& pointer) {
    std::vector<std::string> texts;
    for (const element item : simdjson::dom::array(list["items"]))
      texts.push_back(simdjson::minify(item.at_pointer(pointer)));
    return texts;
  }

  template <class Wanted>
  Wanted asked() {
    EXPECT_EQ(shop_.desk().asked.size(), 1u);
    EXPECT_TRUE(std::holds_alternative<Wanted>(shop_.desk().asked.back()));
    return std::get<Wanted>(shop_.desk().asked.back());
  }

  Shop shop_;
  simdjson::dom::parser parser_;
  std::string body_, content_type_;
};

// --- cases

TEST_F(Telling, CasesAreTheNewestFirstAndByStockNumberWhereOneIsAsked) {
  EXPECT_THAT(of_all(ask("/api/v1/cases"), "/key"), ElementsAre(R"("R2001#2")", R"("R1043")", R"("R1042")"));
  EXPECT_THAT(of_all(ask("/api/v1/cases?q=R10"), "/key"), ElementsAre(R"("R1042")", R"("R1043")"));
  EXPECT_THAT(of_all(ask("/api/v1/cases?q=R1043"), "/key"), ElementsAre(R"("R1043")"));
  EXPECT_THAT(of_all(ask("/api/v1/cases?q=r1043"), "/key"), ElementsAre());
  EXPECT_THAT(of_all(ask("/api/v1/cases?q=R*"), "/key"), ElementsAre());
}

TEST_F(Telling, CasesAreFoundByWhatIsToBeDoneStateAndTime) {
  EXPECT_THAT(of_all(ask("/api/v1/cases?disposition=refer"), "/key"), ElementsAre(R"("R2001#2")", R"("R1042")"));
  EXPECT_THAT(of_all(ask("/api/v1/cases?disposition=reject"), "/key"), ElementsAre());
  EXPECT_THAT(of_all(ask("/api/v1/cases?state=merged"), "/key"), ElementsAre());
  EXPECT_THAT(of_all(ask("/api/v1/cases?since=2026-11-02T10:25:00Z&until=2026-11-02T11:00:00Z"), "/key"),
              ElementsAre(R"("R1043")"));
}

TEST_F(Telling, ACaseLineTellsReasonCountsAndWhoDecided) {
  const element list = ask("/api/v1/cases?q=R");
  const element policy = list.at_pointer("/items/0"), hand = list.at_pointer("/items/2");
  EXPECT_EQ(std::string_view(policy.at_pointer("/reason/text")), "The readings differ.");
  EXPECT_TRUE(policy.at_pointer("/by_hand").is_null());
  EXPECT_EQ(int64_t(policy.at_pointer("/readings/valid")), 2);
  EXPECT_EQ(std::string_view(policy.at_pointer("/first_measured_at")), "2026-11-02T10:15:00.000Z");
  EXPECT_EQ(std::string_view(hand.at_pointer("/stock_number")), "R2001");
  EXPECT_EQ(std::string_view(hand.at_pointer("/position")), "2");
  EXPECT_EQ(std::string_view(hand.at_pointer("/reason/code")), "decided_by_hand");
  EXPECT_EQ(std::string_view(hand.at_pointer("/by_hand/who")), "Kim");
}

TEST_F(Telling, ACaseLineOfANumberIsThatOfTheList) {
  const auto line = case_line(shop_.teller(), 65536);
  ASSERT_TRUE(line.ok());
  EXPECT_EQ(*line, std::string(simdjson::minify(ask("/api/v1/cases?q=R1042").at_pointer("/items/0"))));
  const auto none = case_line(shop_.teller(), 65537);
  ASSERT_FALSE(none.ok());
  EXPECT_THAT(none.error().text, HasSubstr("k3f9a2b1-65537"));
}

TEST_F(Telling, ACaseOfAnotherLedgerIsNoneOfOurs) {
  ask("/api/v1/cases/k3f9a2b1-65536");
  EXPECT_THAT(std::string(std::string_view(ask("/api/v1/cases/aaaaaaaa-65536", 404)["detail"])),
              HasSubstr("\"aaaaaaaa-65536\""));
  EXPECT_EQ(content_type_, "application/problem+json");
}

// --- subjects

TEST_F(Telling, ASubjectWithoutACaseHasItsDeclarationsAndWhatWasCorrected) {
  const element subject = ask("/api/v1/subjects/R3001");
  EXPECT_EQ(simdjson::dom::array(subject["cases"]).size(), 0u);
  EXPECT_EQ(std::string_view(subject.at_pointer("/declarations/0/declaration/carat")), "1.02");
  EXPECT_EQ(std::string_view(subject.at_pointer("/declarations/0/document")), "stock.csv");
  EXPECT_EQ(std::string_view(subject.at_pointer("/readings_without_case/0/counts")), "superseded");
}

TEST_F(Telling, ASubjectWithACaseHasOnlyWhatTheCaseLeavesOut) {
  const element subject = ask("/api/v1/subjects/R1042");
  EXPECT_EQ(std::string_view(subject.at_pointer("/cases/0/id")), "k3f9a2b1-65536");
  EXPECT_EQ(simdjson::dom::array(subject["readings_without_case"]).size(), 0u);
  EXPECT_EQ(std::string_view(ask("/api/v1/subjects/R2001%232").at_pointer("/cases/0/key")), "R2001#2");
  EXPECT_THAT(std::string(std::string_view(ask("/api/v1/subjects/R9", 404)["detail"])),
              HasSubstr("there is no stock number \"R9\""));
}

// --- readings

TEST_F(Telling, AReadingTellsWhetherItCountsAndWhoseItIs) {
  const auto of = [&](const std::string& query) { return of_all(ask("/api/v1/readings?" + query), "/counts"); };
  EXPECT_THAT(of("q=R1042"), ElementsAre(R"("yes")", R"("yes")"));
  EXPECT_THAT(of("q=R3001"), ElementsAre(R"("superseded")"));
  EXPECT_THAT(of("unbound=true"), ElementsAre(R"("unbound")", R"("unbound")"));
  EXPECT_THAT(of_all(ask("/api/v1/readings?unbound=true&finding=void"), "/key"), ElementsAre("null"));
}

TEST_F(Telling, ReadingsAreFoundByInstrumentIntakeFindingAndTime) {
  const auto runs = [&](const std::string& query) { return of_all(ask("/api/v1/readings?" + query), "/id"); };
  EXPECT_THAT(runs("instrument=A-0117&since=2026-11-02T10:21:00Z&until=2026-11-02T10:31:00Z"), ElementsAre("4", "3"));
  EXPECT_THAT(runs("intake=counter-1-posts"), ElementsAre("2"));
  EXPECT_THAT(runs("finding=simulant"), ElementsAre("2"));
  EXPECT_THAT(runs("instrument=Z"), ElementsAre());
}

TEST_F(Telling, AReadingAloneHasItsDuplicatesAndThePersonWhoBoundIt) {
  EXPECT_EQ(std::string_view(ask("/api/v1/readings/1").at_pointer("/duplicates/0/document")), "2026-11-02 (copy).csv");
  EXPECT_EQ(std::string_view(ask("/api/v1/readings/8").at_pointer("/bound_by/why")), "the paper beside it said so");
  EXPECT_TRUE(ask("/api/v1/readings/1").at_pointer("/bound_by").is_null());
}

TEST_F(Telling, UnboundAndAStockNumberDoNotGoTogether) {
  EXPECT_THAT(std::string(std::string_view(ask("/api/v1/readings?unbound=true&q=R1", 400)["detail"])),
              HasSubstr("q and unbound"));
}

// --- what was set aside

TEST_F(Telling, AsidesAreThoseThatAreOpenUnlessAllAreAsked) {
  auto& ledger = shop_.ledger();
  ASSERT_TRUE(ledger.begin().ok());
  const auto first = ledger.aside(1);
  ASSERT_TRUE(first.ok() && first->has_value());
  const auto begun = ledger.begin_again((*first)->document_number, at("12:00:00"));
  ASSERT_TRUE(begun.ok());
  ASSERT_TRUE(ledger.settle_asides((*first)->document_number, *begun).ok());
  ASSERT_TRUE(ledger.commit().ok());
  EXPECT_THAT(of_all(ask("/api/v1/aside"), "/id"), ElementsAre("3"));
  EXPECT_THAT(of_all(ask("/api/v1/aside?all=true"), "/id"), ElementsAre("3", "2", "1"));
  EXPECT_FALSE(ask("/api/v1/aside/1").at_pointer("/settled_at").is_null());
}

TEST_F(Telling, AnAsideHasItsBytesAsTextAndAsTheyAre) {
  const element aside = ask("/api/v1/aside/3");
  EXPECT_EQ(std::string_view(aside["text"]), std::string_view("\uFFFD\0{\"run\"", 10));
  EXPECT_EQ(std::string_view(aside["base64"]), "/wB7InJ1biI=");  // by coreutils' base64
  EXPECT_TRUE(aside["line"].is_null());
  EXPECT_FALSE(bool(aside["can_try_again"]));
  EXPECT_TRUE(bool(ask("/api/v1/aside/1")["can_try_again"]));
}

TEST_F(Telling, InAListALongAsideIsCutBetweenCharacters) {
  auto& ledger = shop_.ledger();
  model::Aside aside;
  aside.reason = "long";
  aside.bytes = "x";
  while (aside.bytes.size() < 100'000) aside.bytes += "é";
  aside.place.length = aside.bytes.size();
  ASSERT_TRUE(ledger.begin().ok());
  ASSERT_TRUE(ledger.add_aside(1, 1, aside, at("13:00:00")).ok());
  ASSERT_TRUE(ledger.commit().ok());
  const element listed = ask("/api/v1/aside?cause=long").at_pointer("/items/0");
  EXPECT_EQ(std::string_view(listed["text"]).size(), 4095u);
  EXPECT_EQ(std::string_view(listed["text"]).find("\uFFFD"), std::string_view::npos);
  EXPECT_TRUE(bool(listed["truncated"]));
  const element whole = ask("/api/v1/aside/4");
  EXPECT_EQ(std::string_view(whole["text"]).size(), aside.bytes.size());
  EXPECT_FALSE(bool(whole["truncated"]));
}

TEST_F(Telling, CausesGatherWhatDiffersOnlyByWhatStoodThere) {
  const element causes = ask("/api/v1/aside-causes");
  EXPECT_THAT(of_all(causes, "/count"), ElementsAre("2", "1"));
  EXPECT_EQ(int64_t(causes.at_pointer("/items/0/example/id")), 2);
  EXPECT_TRUE(bool(causes["of_all"]));
  const std::string cause(std::string_view(causes.at_pointer("/items/0/cause")));
  EXPECT_THAT(of_all(ask("/api/v1/aside?cause=" + cause), "/id"), ElementsAre("2", "1"));
  EXPECT_THAT(of_all(ask("/api/v1/aside-causes?intake=counter-1-posts"), "/count"), ElementsAre("1"));
}

TEST_F(Telling, CausesAreBoundedAndSaySo) {
  auto& ledger = shop_.ledger();
  ASSERT_TRUE(ledger.begin().ok());
  for (int i = 0; i < 250; ++i) {
    model::Aside aside;
    aside.place = {static_cast<uint64_t>(i), 1, 0};
    aside.reason = "cause c" + std::to_string(i);
    aside.bytes = "x";
    ASSERT_TRUE(ledger.add_aside(1, 1, aside, at("13:00:00")).ok());
  }
  ASSERT_TRUE(ledger.commit().ok());
  const element causes = ask("/api/v1/aside-causes");
  EXPECT_EQ(simdjson::dom::array(causes["items"]).size(), 200u);
  EXPECT_FALSE(bool(causes["of_all"]));
}

// --- benches, instruments

TEST_F(Telling, ABenchShowsItsLatestMeasurementsWithTheirCases) {
  const element benches = ask("/api/v1/benches");
  EXPECT_THAT(of_all(benches, "/bench"), ElementsAre(R"("counter-1")", "null"));
  const element latest = benches.at_pointer("/items/0/latest");
  EXPECT_EQ(simdjson::dom::array(latest).size(), 5u);
  EXPECT_EQ(std::string_view(latest.at_pointer("/0/at")), "2026-11-02T11:12:01.000Z");
  EXPECT_TRUE(latest.at_pointer("/0/case").is_null());  // of no case's time
  EXPECT_EQ(std::string_view(latest.at_pointer("/1/case/key")), "R1043");
  EXPECT_EQ(std::string_view(latest.at_pointer("/1/run")), "44");
  // B-0042 is not configured; C-0009 has no bench, and said nothing. What was corrected is no news.
  EXPECT_EQ(std::string(simdjson::minify(benches.at_pointer("/items/1/instruments"))), R"(["B-0042","C-0009"])");
  EXPECT_EQ(simdjson::dom::array(benches.at_pointer("/items/1/latest")).size(), 4u);
}

// A clock that is ahead would else keep its stone on the bench for as long as it is wrong.
TEST_F(Telling, ABenchShowsWhatWasMeasuredInTheFutureWhereItCame) {
  ledger::Ledger& ledger = shop_.ledger();
  ASSERT_TRUE(ledger.begin().ok());
  ledger::StoredReading ahead;
  ahead.instrument = *ledger.instrument("A-0117");
  ahead.intake = *ledger.intake("counter-1-line");
  ahead.document = 1;
  ahead.came_at = at("10:00:00");
  ahead.reading.instrument = "A-0117";
  ahead.reading.run = "9001";
  ahead.reading.measured_at = *base::parse_rfc3339("2036-01-01T00:00:00Z");
  ASSERT_TRUE(ledger.add_reading(ahead, false).ok());
  ASSERT_TRUE(ledger.commit().ok());
  const element latest = ask("/api/v1/benches").at_pointer("/items/0/latest");
  EXPECT_EQ(std::string_view(latest.at_pointer("/0/at")), "2026-11-02T11:12:01.000Z");
  EXPECT_EQ(simdjson::dom::array(latest).size(), 6u);
}

TEST_F(Telling, InstrumentsAreThoseOfTheConfigurationAndAllThatSpoke) {
  const element all = ask("/api/v1/instruments");
  EXPECT_THAT(of_all(all, "/serial"), ElementsAre(R"("A-0117")", R"("B-0042")", R"("C-0009")"));
  EXPECT_THAT(of_all(all, "/configured"), ElementsAre("true", "false", "true"));
  EXPECT_THAT(of_all(all, "/runs"), ElementsAre("5", "4", "0"));
  EXPECT_THAT(of_all(all, "/voids"), ElementsAre("0", "1", "0"));
  EXPECT_THAT(of_all(all, "/referrals"), ElementsAre("1", "1", "0"));
  // Two seconds by a post; what lay in a file says nothing of a clock.
  EXPECT_THAT(of_all(all, "/clock_offset_s"), ElementsAre("2.0", "null", "null"));
}

TEST_F(Telling, AnInstrumentIsToldDayByDay) {
  const element one = ask("/api/v1/instruments/A-0117?days=3");
  EXPECT_EQ(
      std::string(simdjson::minify(one["days"])),
      R"([{"day":"2026-10-31","runs":0,"voids":0,"referrals":0},{"day":"2026-11-01","runs":0,"voids":0,"referrals":0},)"
      R"({"day":"2026-11-02","runs":5,"voids":0,"referrals":1}])");
  EXPECT_TRUE(bool(one["complete"]));
  EXPECT_EQ(simdjson::dom::array(ask("/api/v1/instruments/A-0117")["days"]).size(), 30u);
  ask("/api/v1/instruments/A", 404);
}

// --- intakes, outlets, deliveries, policy

TEST_F(Telling, AnIntakeIsTheConfigurationsAndHowItStands) {
  const element all = ask("/api/v1/intakes");
  EXPECT_THAT(of_all(all, "/up"), ElementsAre("true", "false", "false"));
  EXPECT_THAT(of_all(all, "/trouble"), ElementsAre("null", "null", R"("inbox/stock: Permission denied")"));
  EXPECT_EQ(std::string_view(ask("/api/v1/intakes/counter-1-posts")["kind"]), "post");
  ask("/api/v1/intakes/till", 404);
}

TEST_F(Telling, AnOutletHasItsTotalsItsLastAttemptAndWhyItStands) {
  const element all = ask("/api/v1/outlets");
  EXPECT_THAT(of_all(all, "/state"), ElementsAre(R"("resting")", R"("paused")", R"("open")"));
  EXPECT_THAT(of_all(all, "/waiting"), ElementsAre("1", "1", "0"));
  EXPECT_THAT(of_all(all, "/parked"), ElementsAre("1", "0", "0"));
  EXPECT_EQ(int64_t(all.at_pointer("/items/0/last/status")), 410);
  EXPECT_EQ(std::string_view(all.at_pointer("/items/1/why")), "the laboratory is closed on Mondays (Kim)");
  EXPECT_TRUE(ask("/api/v1/outlets/archive")["last"].is_null());
}

TEST_F(Telling, ADeliveryHasItsAttemptsAndWhatWasToBeTold) {
  EXPECT_THAT(of_all(ask("/api/v1/deliveries?state=parked&outlet=till"), "/key"), ElementsAre(R"("R1042")"));
  EXPECT_THAT(of_all(ask("/api/v1/deliveries?q=R1042"), "/sequence"), ElementsAre("2", "2", "1"));
  const element one = ask("/api/v1/deliveries/2");
  EXPECT_EQ(std::string_view(one.at_pointer("/tries/0/answer")), "no such hook");
  EXPECT_EQ(std::string_view(one.at_pointer("/outcome/disposition")), "refer");
  ask("/api/v1/deliveries/99", 404);
}

TEST_F(Telling, ThePolicyIsToldWithItsRulesAndHistory) {
  const element policy = ask("/api/v1/policy");
  EXPECT_EQ(int64_t(policy.at_pointer("/rules/required")), 2);
  EXPECT_EQ(std::string_view(policy.at_pointer("/history/0/approved_by")), "Kim");
}

// --- deeds

TEST_F(Telling, ADecisionByHandComesToTheDeskAsItWasSaid) {
  const element outcome = ask_post("/api/v1/cases/k3f9a2b1-65536/decisions",
                                   R"({"disposition":"release","sequence":2,"who":"Kim","why":"seen"})", 201);
  EXPECT_EQ(int64_t(outcome["sequence"]), 3);
  const auto deed = asked<DecideByHand>();
  EXPECT_EQ(deed.case_number, 65536);
  EXPECT_EQ(deed.sequence, 2);
  EXPECT_EQ(deed.disposition, model::Disposition::kRelease);
  EXPECT_EQ(deed.by.who + '/' + deed.by.why + '/' + deed.by.token, "Kim/seen/kim");
}

TEST_F(Telling, ADecisionOnWhatWasSeenBeforeIsAConflict) {
  ask_post("/api/v1/cases/k3f9a2b1-65536/decisions",
           R"({"disposition":"release","sequence":1,"who":"Kim","why":"seen"})", 409);
}

TEST_F(Telling, NothingIsAskedOfTheDeskWhereTheRequestIsWrong) {
  ask_post("/api/v1/cases/aaaaaaaa-65536/decisions",
           R"({"disposition":"release","sequence":2,"who":"Kim","why":"seen"})", 404);
  ask_post("/api/v1/readings/6/binding", R"({"stock_number":"R2001#2","who":"Kim","why":"seen"})", 400);
  ask_post("/api/v1/aside/retries", R"({"ids":[]})", 400);
  ask_post("/api/v1/resends", R"({"outlet":"till"})", 400);
  ask_post("/api/v1/outlets/nobody/pause", R"({"who":"Kim","why":"seen"})", 404);
  ask_post("/api/v1/intakes/stock-list", "{}", 409);
  EXPECT_TRUE(shop_.desk().asked.empty());
}

TEST_F(Telling, ABindingGoesToTheDeskWithItsPosition) {
  EXPECT_EQ(
      std::string_view(ask_post("/api/v1/readings/6/binding",
                                R"({"stock_number":"R2001","position":"2","who":"Kim","why":"seen"})", 200)["key"]),
      "R2001#2");
  const auto deed = asked<Bind>();
  EXPECT_EQ(deed.reading, 6);
  EXPECT_EQ(deed.stock_number + '#' + deed.position, "R2001#2");
}

TEST_F(Telling, AResendGoesToTheDeskWithAllThatSelects) {
  ask_post(
      "/api/v1/resends",
      R"({"stock_number":"R10*","parked":true,"since":"2026-11-02T10:00:00Z","until":"2026-11-02T12:00:00+01:00","outlet":"till"})",
      200);
  const auto selection = asked<Resend>().selection;
  EXPECT_EQ(selection.stock_number, "R10*");
  EXPECT_TRUE(selection.parked);
  EXPECT_EQ(selection.since, at("10:00:00"));
  EXPECT_EQ(selection.until, at("11:00:00"));
  EXPECT_EQ(selection.outlet, "till");
  EXPECT_EQ(selection.delivery, 0);
}

TEST_F(Telling, ADocumentGoesToTheDeskAsItCame) {
  const std::string bytes("\0\xFF;\r\n", 5);
  const Response response = shop_.ask(post("/api/v1/intakes/counter-1-posts?name=run-0045.json", bytes, "text/csv"));
  EXPECT_EQ(response.status, 201);
  const auto deed = asked<Take>();
  EXPECT_EQ(deed.intake, "counter-1-posts");
  EXPECT_EQ(deed.name, "run-0045.json");
  EXPECT_EQ(deed.bytes, bytes);
}

TEST_F(Telling, WhatTheDeskSaysIsTheStatus) {
  using Kind = DeedAnswer::Kind;
  for (const auto& [kind, status] :
       {std::pair(Kind::kDone, 200), std::pair(Kind::kNotFound, 404), std::pair(Kind::kConflict, 409),
        std::pair(Kind::kRefused, 400), std::pair(Kind::kBusy, 503), std::pair(Kind::kFailed, 503)}) {
    shop_.desk().answer = DeedAnswer{kind, "the desk says so", R"({"changed":false,"waiting":0})", false};
    const Response response = shop_.ask(post("/api/v1/outlets/till/resume", "{}"));
    EXPECT_EQ(response.status, status);
    EXPECT_THAT(response.body, HasSubstr(kind == Kind::kDone ? "changed" : "the desk says so"));
    EXPECT_EQ(response.headers.empty(), status != 503);
  }
}

}  // namespace
}  // namespace girdle::api
