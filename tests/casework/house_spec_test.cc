#include "casework/house_spec.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/time.h"
#include "casework/default_house.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using model::Evidence;
using testing::HasSubstr;

policy::TableSpec required_table() {
  return table_of("FIRST", {"value", "channel"}, "required",
               {{{"> 1000", "\"pawn\""}, "4"}, {{"> 1000", "-"}, "3"}, {{"-", "\"trade-in\""}, "1 + stones"}});
}

HouseSpec::Instrument instrument() {
  HouseSpec::Instrument of;
  of.serial = "A-0117";
  of.bench = "counter-1";
  of.cycle = std::chrono::seconds(45);
  of.scope = {{"color", {"[D..J]"}}, {"carat", {"[0.03..10]"}}};
  of.ambient = {{"temperature_c", {"[-5..23]"}}};
  return of;
}

// Everything that a house can have.
HouseSpec full_spec() {
  HouseSpec spec;
  spec.name = "pawn counter \"2\"";
  spec.version = "7";
  spec.valid_from = base::parse_rfc3339("2026-12-01T00:00:00+01:00");
  spec.required = 3;
  spec.accept_unknown_scope = true;
  spec.repeat_correlation = *Decimal::parse("0.5");
  spec.miss_limit = *Decimal::parse("0.001");
  spec.priors = {{"pawn", {*Decimal::parse("0.9"), *Decimal::parse("0.1")}}, {"", {Decimal(1)}}};
  spec.required_table = required_table();
  spec.routing = table_of("COLLECT", {"disposition"}, "outlet", {{{"-"}, "\"till\""}, {{"\"refer\""}, "\"vault\""}});
  spec.table.rules[3].note = "two instruments, or two runs, that contradict each other";
  spec.reasons = {{"findings_differ", {"Die Messungen widersprechen sich ({valid})."}}};
  spec.market = "us";
  HouseSpec::Instrument tested = instrument();
  HouseSpec::Counts& counts = tested.known_stones.emplace();
  counts[0] = {1964, 0, 0, 0, 0, 36};
  counts[1] = {0, 480, 0, 0, 0, 20};
  tested.known_stones_source = "test of March 2026 on 2,500 runs";
  spec.instruments = {tested};
  return spec;
}

std::vector<std::string> problems_of(const HouseSpec& spec) {
  std::vector<std::string> texts;
  const auto built = build(spec);
  if (const auto* problems = std::get_if<std::vector<HouseProblem>>(&built)) {
    for (const HouseProblem& problem : *problems) texts.push_back(problem.text);
    return texts;
  }
  for (const HouseProblem& problem : try_examples(spec, std::get<BuiltHouse>(built).house)) texts.push_back(problem.text);
  return texts;
}

// Outcomes carry the digest: a house that an earlier version knew keeps the one that it had.
TEST(HouseText, KeepsTheDigestsOfEarlierVersions) {
  HouseSpec spec;
  spec.instruments = {instrument()};
  EXPECT_EQ(built(spec).house.stamp.digest, "sha256:0b708b1262c070832318f394e291f09a21f0a09ebb30374e8b7e719fb6b02226");
}

TEST(HouseText, IsReadBackByteForByte) {
  for (const HouseSpec& spec : {HouseSpec(), full_spec()}) {
    const std::string text = rules_text(spec);
    const auto read = read_rules(text);
    ASSERT_TRUE(read.ok()) << read.error().text;
    EXPECT_EQ(rules_text(*read), text);
    EXPECT_EQ(built(*read).house.stamp, built(spec).house.stamp);
  }
}

TEST(HouseText, SaysWhatIsWrongWithATextThatIsNone) {
  const std::string whole = rules_text(full_spec());
  EXPECT_FALSE(read_rules("").ok());
  EXPECT_FALSE(read_rules("[]").ok());
  for (size_t end = 1; end < whole.size(); end += 7) EXPECT_FALSE(read_rules(whole.substr(0, end)).ok());
  for (const char* member : {"\"reopen_after\":\"30d\"", "\"required\":3", "\"1\",\"0\""}) {
    std::string broken = whole;
    const size_t at = broken.find(member);
    if (at == std::string::npos) continue;
    broken.replace(at, std::string_view(member).size(), "\"required\":\"x\"");
    EXPECT_FALSE(read_rules(broken).ok()) << member;
  }
  std::string short_counts = whole;
  short_counts.replace(short_counts.find("[1964,0,"), 8, "[1964,");
  EXPECT_THAT(read_rules(short_counts).error().text, HasSubstr("natural"));
}

TEST(House, AsksForRunsByItsTable) {
  HouseSpec spec;
  spec.required_table = required_table();
  const House house = house_of(spec);
  Evidence e;
  EXPECT_EQ(required_runs(e, house), 2) << "no rule: the parameter";
  e.stone.value = Decimal(1500);
  EXPECT_EQ(required_runs(e, house), 3);
  e.stone.channel = "pawn";
  EXPECT_EQ(required_runs(e, house), 4);
  e.stone.value.reset();
  e.stone.channel = "trade-in";
  e.stone.stones = Decimal(4);
  EXPECT_EQ(required_runs(e, house), 5);
}

// Promise 7.
TEST(House, HoldsAStoneWhoseRunsItCannotTell) {
  HouseSpec spec;
  spec.required_table = required_table();
  const House house = house_of(spec);
  Evidence e;
  e.finding = Evidence::Common::kNatural;
  e.scope = model::Scope::kIn;
  e.valid = 9;
  e.stone.channel = "trade-in";
  for (const char* stones : {"", "0.5", "100"}) {  // not known; no whole number; more than anybody measures
    e.stone.stones = *stones ? Decimal::parse(stones) : std::nullopt;
    e.required = required_runs(e, house);
    EXPECT_EQ(e.required, 0) << stones;
    EXPECT_EQ(decide(e, house).disposition, model::Disposition::kHold);
    EXPECT_EQ(decide(e, house).reason, "policy_error");
  }
}

TEST(House, TellsOutletsByItsTable) {
  const House house = house_of(full_spec());
  model::Decision decision;
  decision.disposition = model::Disposition::kRefer;
  decision.evidence.required = 2;
  EXPECT_EQ(outlets_for(decision, {}, house), (std::vector<std::string>{"till", "vault"}));
  decision.disposition = model::Disposition::kRelease;
  EXPECT_EQ(outlets_for(decision, {}, house), std::vector<std::string>{"till"});
  EXPECT_EQ(outlets_for(decision, {}, default_house()), std::nullopt) << "no table: every outlet";
}

// Whoever cannot be told whom to tell tells everybody.
TEST(House, TellsEveryOutletWhereItsTableCannotBeEvaluated) {
  HouseSpec spec;
  spec.routing = table_of("UNIQUE", {"disposition"}, "outlet", {{{"-"}, "\"till\""}, {{"-"}, "\"vault\""}});
  EXPECT_EQ(outlets_for({}, {}, house_of(spec)), std::nullopt);
}

TEST(House, TellsWhatIsWrongWithItsTables) {
  HouseSpec spec;
  spec.required_table = table_of("FIRST", {"valid"}, "required", {{{"-"}, "0"}, {{"-"}, "\"two\""}});
  spec.routing = table_of("COLLECT", {"disposition"}, "to", {{{"-"}, "\"till\""}});
  spec.reasons = {{"x", {"{valid} of {runs}"}}};
  const auto problems = problems_of(spec);
  const std::string all = testing::PrintToString(problems);
  EXPECT_THAT(all, HasSubstr("valid")) << "what was measured is not known before";
  EXPECT_THAT(all, HasSubstr("0 is no number of runs"));
  EXPECT_THAT(all, HasSubstr("is no number of runs; it is a whole number from 1 to 100"));
  EXPECT_THAT(all, HasSubstr("no output named outlet"));
  spec.required_table.reset();
  spec.routing.reset();
  EXPECT_THAT(testing::PrintToString(problems_of(spec)), HasSubstr("{runs"));
  spec.reasons = {{"x", {"{vald}"}}};
  EXPECT_THAT(testing::PrintToString(problems_of(spec)), HasSubstr("as in {valid}"));
}

// Promise 7: of several answers none may be picked.
TEST(House, TakesNoTableThatGivesSeveralAnswers) {
  for (const char* hit_policy : {"COLLECT", "RULE ORDER", "OUTPUT ORDER"}) {
    HouseSpec spec;
    spec.table.hit_policy = hit_policy;
    EXPECT_THAT(testing::PrintToString(problems_of(spec)), HasSubstr("is one answer")) << hit_policy;
  }
}

HouseSpec::Example example(std::vector<std::pair<std::string, std::string>> facts, std::string disposition,
                           std::string reason = "") {
  HouseSpec::Example out;
  for (auto& [name, value] : facts) out.facts.push_back({{name, {3, 1}}, {value, {3, 9}}});
  out.disposition = {std::move(disposition), {4, 5}};
  out.reason = {std::move(reason), {4, 9}};
  return out;
}

TEST(Examples, ComeOutAsTheySay) {
  HouseSpec spec;
  spec.required_table = required_table();
  spec.examples = {
      example({{"finding", "natural"}, {"valid", "2"}, {"scope", "in"}, {"declared", "natural"}}, "release", "as_declared"),
      example({{"finding", "natural"}, {"valid", "2"}, {"scope", "in"}, {"value", "5000"}}, "repeat"),
      example({{"finding", "natural"}, {"valid", "2"}, {"scope", "in"}, {"required", "2"}, {"value", "5000"}}, "release"),
      example({{"voids", "3"}}, "hold", "cannot_be_measured"),
  };
  spec.examples[1].required = {"3", {}};
  EXPECT_THAT(problems_of(spec), testing::IsEmpty());
}

TEST(Examples, SayWhatComesOutInstead) {
  HouseSpec spec;
  spec.examples = {example({{"finding", "natural"}, {"valid", "1"}, {"scope", "in"}}, "release"),
                   example({{"findings", "natural"}, {"valid", "one"}, {"missing", "1"}}, "hold")};
  spec.examples[0].required = {"3", {5, 5}};
  const std::vector<HouseProblem> problems = try_examples(spec, house_of(spec));
  ASSERT_EQ(problems.size(), 5u);
  EXPECT_EQ(problems[0].text, "example 1: it wants 3 runs asked for, and the policy asks for 2");
  EXPECT_EQ(problems[1].text,
            "example 1: it wants release, and the policy says repeat (more_readings_needed, rule 6)");
  EXPECT_EQ(problems[1].mark, (policy::Mark{4, 5}));
  EXPECT_EQ(problems[2].text, "example 2: \"findings\" is no fact of a case; did you mean finding?");
  EXPECT_THAT(problems[3].text, HasSubstr("valid is no \"one\""));
  EXPECT_THAT(problems[4].text, HasSubstr("missing follows from other facts"));
}

TEST(Examples, AreAskedWhoHearsOfThem) {
  HouseSpec spec;
  spec.routing = table_of("COLLECT", {"disposition"}, "outlet", {{{"\"refer\""}, "\"vault\""}});
  spec.examples = {example({{"finding", "mixed"}, {"valid", "2"}}, "refer")};
  spec.examples[0].outlets.emplace().push_back({"vault", {}});
  EXPECT_THAT(problems_of(spec), testing::IsEmpty());
  spec.examples[0].outlets->front().text = "till";
  EXPECT_THAT(problems_of(spec).at(0), HasSubstr("it wants till to hear of it, and the policy tells vault"));
}

}  // namespace
}  // namespace girdle::casework
