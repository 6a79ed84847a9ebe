#include "policy/proof.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <iterator>
#include <random>
#include <set>

#include "policy/default_policy.h"
#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

using Kind = ProofNote::Kind;
using testing::ElementsAre;
using testing::IsEmpty;

std::vector<ProofNote> of_kind(const std::vector<ProofNote>& notes, Kind kind) {
  std::vector<ProofNote> found;
  std::ranges::copy_if(notes, std::back_inserter(found),
                       [&](const ProofNote& note) { return note.kind == kind; });
  return found;
}

TableSpec two_numbers(std::string hit_policy, std::string low, std::string high,
                      const std::vector<std::array<std::string, 3>>& rules) {
  TableSpec spec;
  spec.hit_policy = std::move(hit_policy);
  spec.inputs = {{"income", "number", std::move(low), true}, {"loan", "number", std::move(high), true}};
  spec.outputs = {{"grade", "string"}};
  for (const auto& [income, loan, grade] : rules) spec.rules.push_back({{income, loan}, {'"' + grade + '"'}});
  return spec;
}

// Calvanese et al., Information Systems 78 (2018) 112, Table 1 "Loan Grade": the only overlap that
// they print is A, C at [500..1000] x [250..750]; (200, 1000) matches nothing.
TableSpec loan_grade(const std::string& hit_policy = "UNIQUE") {
  return two_numbers(hit_policy, "[0..2000]", "[0..1500]",
                     {{"[0..1000]", "[0..750]", "VG"},
                      {"[250..750]", "[1200..1500]", "G"},
                      {"[500..1500]", "[250..1000]", "F"},
                      {"[1600..2000]", "[0..850]", "P"}});
}

TEST(Proof, FindsTheOnlyOverlapOfThePublishedExample) {
  const auto overlaps = of_kind(prove(compiled(loan_grade())), Kind::kOverlap);
  ASSERT_EQ(overlaps.size(), 1u);
  EXPECT_THAT(overlaps[0].rules, ElementsAre(1, 3));
  EXPECT_EQ(overlaps[0].region, "income [500..1000]; loan [250..750]");
  EXPECT_TRUE(overlaps[0].is_error);
}

// The same table: the white rectangles of its Figure 1 hold (200, 1000), and cover 1,260,000 of
// 3,000,000 (computed from the printed values by an exact enumeration beside this project).
TEST(Proof, FindsTheGapsOfThePublishedExample) {
  const Table table = compiled(loan_grade());
  const auto gaps = of_kind(prove(table), Kind::kGap);
  ASSERT_FALSE(gaps.empty());
  for (const ProofNote& gap : gaps) {
    EXPECT_EQ(table.evaluate(gap.example).kind, Decision::Kind::kNoRule) << gap.region;
    EXPECT_FALSE(gap.is_error);
  }
  EXPECT_EQ(table.evaluate({{"income", base::Decimal(200)}, {"loan", base::Decimal(1000)}}).kind,
            Decision::Kind::kNoRule);
}

// [A] Table 1 of the same authors' paper at BPM 2016: A, C overlap at [500..1000] x [500..1000].
TEST(Proof, FindsTheOnlyOverlapOfTheOlderExample) {
  const Table table = compiled(two_numbers("UNIQUE", ">= 0", ">= 0",
                                           {{"[0..1000]", "[0..1000]", "A"},
                                            {"[250..750]", "[4000..5000]", "B"},
                                            {"[500..1500]", "[500..3000]", "C"},
                                            {"[2000..2500]", "[0..2000]", "D"}}));
  const auto overlaps = of_kind(prove(table), Kind::kOverlap);
  ASSERT_EQ(overlaps.size(), 1u);
  EXPECT_EQ(overlaps[0].region, "income [500..1000]; loan [500..1000]");
}

// The kit's 0004-lending Pre-bureauRiskCategoryTable leaves one point out: existing customer false
// and score exactly 130, between [120..130) and > 130. (Its twin in 0087 has none.) The column of
// scores, as far as it matters here.
TEST(Proof, FindsAGapOfASinglePoint) {
  TableSpec spec;
  spec.inputs = {{"existing", "boolean", "", true}, {"score", "number", "", true}};
  spec.outputs = {{"", "string"}};
  spec.rules = {{{"false", "< 100"}, {"\"HIGH\""}},     {{"false", "[100..120)"}, {"\"MEDIUM\""}},
                {{"false", "[120..130)"}, {"\"LOW\""}}, {{"false", "> 130"}, {"\"VERY LOW\""}},
                {{"true", "-"}, {"\"KNOWN\""}}};
  const auto gaps = of_kind(prove(compiled(spec)), Kind::kGap);
  ASSERT_EQ(gaps.size(), 1u);
  EXPECT_EQ(gaps[0].region, "existing false; score 130");
  EXPECT_EQ(gaps[0].example.at("score"), Value(base::Decimal(130)));
  spec.rules[2].when[1] = "[120..130]";
  EXPECT_THAT(of_kind(prove(compiled(spec)), Kind::kGap), IsEmpty());
}

// 0004-simpletable-U of the kit: unique and complete.
TEST(Proof, FindsNothingInACompleteTable) {
  TableSpec spec;
  spec.inputs = {{"Age", "number", "", true},
                 {"RiskCategory", "string", R"("High", "Low", "Medium")", true},
                 {"isAffordable", "boolean", "", true}};
  spec.outputs = {{"", "string"}};
  spec.rules = {{{">=18", "\"Medium\",\"Low\"", "true"}, {"\"Approved\""}},
                {{"<18", "\"Medium\",\"Low\"", "-"}, {"\"Declined\""}},
                {{"-", "\"High\"", "-"}, {"\"Declined\""}},
                {{">=18", "\"Medium\",\"Low\"", "false"}, {"\"Declined\""}}};
  EXPECT_THAT(prove(compiled(spec)), IsEmpty());
  for (auto& input : spec.inputs) input.required = false;
  EXPECT_THAT(of_kind(prove(compiled(spec)), Kind::kGap), testing::Not(IsEmpty())) << "missing facts";
}

// 0118 of the kit: Age >= 18, Medium or Low, not affordable is left out.
TEST(Proof, NamesTheFactsThatNoRuleCovers) {
  TableSpec spec;
  spec.inputs = {{"Age", "number", "", true},
                 {"RiskCategory", "string", R"("High", "Low", "Medium")", true},
                 {"isAffordable", "boolean", "", true}};
  spec.outputs = {{"", "string"}};
  spec.rules = {{{">=18", "\"Medium\",\"Low\"", "true"}, {"\"Approved\""}},
                {{"<18", "\"Medium\",\"Low\"", "-"}, {"\"Declined\""}},
                {{"-", "\"High\"", "-"}, {"\"Declined\""}}};
  const auto gaps = of_kind(prove(compiled(spec)), Kind::kGap);
  ASSERT_EQ(gaps.size(), 1u);
  EXPECT_EQ(gaps[0].region, "Age >= 18; RiskCategory \"Low\", \"Medium\"; isAffordable false");
}

TEST(Proof, TellsRulesThatCanNeverDecide) {
  const Table table = compiled(one_column("FIRST", {{"< 5", "1"}, {">= 5", "2"}, {"[3..7]", "3"}, {"-", "4"}}));
  const auto masked = of_kind(prove(table), Kind::kMasked);
  ASSERT_EQ(masked.size(), 1u);
  EXPECT_THAT(masked[0].rules, ElementsAre(3)) << "the last one is for a missing x";
  EXPECT_EQ(masked[0].region, "x [3..7]");
}

TEST(Proof, DoesNotMindALastRowThatHasNothingLeftToDo) {
  EXPECT_THAT(prove(compiled(one_column("FIRST", {{"< 5", "1"}, {">= 5", "2"}, {"null", "3"}, {"-", "4"}}))), IsEmpty());
}

TEST(Proof, KnowsWhichOfTwoOutputsIsStronger) {
  TableSpec spec = one_column("PRIORITY", {{"< 5", "\"low\""}, {"< 9", "\"high\""}, {"< 3", "\"low\""}});
  spec.outputs = {{"", "string", R"("high", "low")"}};
  const auto masked = of_kind(prove(compiled(spec)), Kind::kMasked);
  ASSERT_EQ(masked.size(), 2u);
  EXPECT_THAT(masked[0].rules, ElementsAre(1));
  EXPECT_THAT(masked[1].rules, ElementsAre(3));
}

TEST(Proof, LetsAnyRulesOverlapThatSayTheSame) {
  EXPECT_THAT(of_kind(prove(compiled(one_column("ANY", {{"< 5", "1"}, {"< 9", "1"}}))), Kind::kOverlap), IsEmpty());
  const auto overlaps = of_kind(prove(compiled(one_column("ANY", {{"< 5", "1"}, {"< 9", "2"}}))), Kind::kOverlap);
  ASSERT_EQ(overlaps.size(), 1u);
  EXPECT_EQ(overlaps[0].region, "x < 5");
}

TEST(Proof, TellsCellsThatNothingAllowedCanMeet) {
  TableSpec spec = one_column("FIRST", {{"< 0", "1"}, {"[2..3], > 200", "2"}, {"-", "3"}});
  spec.inputs[0].allowed_values = "[0..100]";
  const auto notes = prove(compiled(spec));
  EXPECT_THAT(of_kind(notes, Kind::kNeverMet)[0].rules, ElementsAre(1));
  const auto parts = of_kind(notes, Kind::kCellPart);
  ASSERT_EQ(parts.size(), 2u);
  EXPECT_EQ(parts[1].text, "rule 2, \"x\": part 2 of the cell \"[2..3], > 200\" lies outside the allowed values");
}

TEST(Proof, TellsRulesWhoseCellsExcludeEachOther) {
  TableSpec spec;
  spec.hit_policy = "FIRST";
  spec.inputs = {{"x", "number"}, {"x", "number"}};
  spec.outputs = {{""}};
  spec.rules = {{{"< 3", "> 5"}, {"1"}}, {{"-", "-"}, {"2"}}};
  EXPECT_THAT(of_kind(prove(compiled(spec)), Kind::kNeverMet)[0].rules, ElementsAre(1));
}

// Cells that name facts: less, equal and more are told apart in every stretch.
TEST(Proof, SeesThroughCellsThatNameOtherFacts) {
  TableSpec spec;
  spec.inputs = {{"valid", "number", "", true}, {"required", "number", "", true}};
  spec.outputs = {{""}};
  spec.rules = {{{"< required", "-"}, {"1"}}, {{"> required", "-"}, {"2"}}};
  auto gaps = of_kind(prove(compiled(spec)), Kind::kGap);
  ASSERT_EQ(gaps.size(), 1u);
  EXPECT_EQ(gaps[0].example.at("valid"), gaps[0].example.at("required"));
  spec.rules.push_back({{"[required..required]", "-"}, {"3"}});
  EXPECT_THAT(prove(compiled(spec)), IsEmpty());
  spec.rules.push_back({{">= required", "> 7"}, {"4"}});
  const auto overlaps = of_kind(prove(compiled(spec)), Kind::kOverlap);
  ASSERT_EQ(overlaps.size(), 2u);
  EXPECT_THAT(overlaps[0].rules, ElementsAre(2, 4));
  EXPECT_THAT(overlaps[1].rules, ElementsAre(3, 4));
}

TEST(Proof, KnowsThatBetweenTwoDaysThereIsNone) {
  TableSpec spec;
  spec.inputs = {{"day", "date", "", true}};
  spec.outputs = {{""}};
  spec.rules = {{{R"(<= date("2026-11-02"))"}, {"1"}}, {{R"(>= date("2026-11-03"))"}, {"2"}}};
  EXPECT_THAT(prove(compiled(spec)), IsEmpty());
  spec.rules[1].when[0] = R"(>= date("2026-11-04"))";
  auto gaps = of_kind(prove(compiled(spec)), Kind::kGap);
  ASSERT_EQ(gaps.size(), 1u);
  EXPECT_EQ(to_json(gaps[0].example.at("day")), "\"2026-11-03\"");
  spec.inputs[0].type = "date and time";
  spec.rules = {{{R"(<= date and time("2026-11-02T23:59:59"))"}, {"1"}}, {{R"(>= date and time("2026-11-03T00:00:00"))"}, {"2"}}};
  EXPECT_EQ(of_kind(prove(compiled(spec)), Kind::kGap).size(), 1u);
}

// Whole numbers have no gap between 21 and 22 (the trap of adjacent ranges, known from issue threads of rule libraries).
TEST(Proof, UsesWhatIsKnownOfTheFacts) {
  const Table table = compiled(one_column("UNIQUE", {{"[18..21]", "1"}, {"[22..25]", "2"}}));
  const auto gaps = of_kind(prove(table), Kind::kGap);
  ASSERT_EQ(gaps.size(), 1u);
  EXPECT_EQ(gaps[0].region, "x < 18, (21..22), > 25, missing");
  const ProofFact years[] = {{"x", true, true, "[18..25]"}};
  EXPECT_THAT(prove(table, {}, years), IsEmpty());
}

TEST(Proof, FindsNothingWrongWithTheDefaultPolicy) {
  EXPECT_THAT(prove(compiled(default_policy_spec())), IsEmpty());
}

TEST(Proof, SaysWhereItsLimitsWereReached) {
  const auto notes = prove(compiled(loan_grade()), {.steps = 2});
  EXPECT_EQ(of_kind(notes, Kind::kNotDecided).size(), 1u);
}

// Nothing is left out where nothing is possible.
TEST(Proof, FindsNoGapWhereNoFactsAreAllowed) {
  TableSpec spec;
  spec.inputs = {{"x", "number", "> 5", true}, {"y", "number", "", true}};
  spec.outputs = {{""}};
  spec.rules = {{{"-", "< 3"}, {"1"}}};
  const ProofFact small[] = {{.name = "x", .is_always_known = true, .allowed_values = "[1..2]"}};
  const auto notes = prove(compiled(spec), {}, small);
  EXPECT_THAT(of_kind(notes, Kind::kGap), IsEmpty());
  EXPECT_EQ(of_kind(notes, Kind::kNeverMet).size(), 1u);
}

TEST(Proof, CountsWhatItDoesNotTell) {
  const auto notes = prove(compiled(one_column("UNIQUE", {{"-", "1"}, {"-", "1"}, {"-", "1"}, {"-", "1"}})), {.notes = 2});
  ASSERT_EQ(notes.size(), 2u);
  EXPECT_THAT(notes[1].text, testing::EndsWith("; and 4 more of this kind"));
}

// Small random tables, every question answered anew by trying all facts of a grid that is finer than
// the table.
class Grid {
 public:
  explicit Grid(const Table& table) : table_(table) {
    const std::vector<Value> numbers = [] {
      std::vector<Value> values = {kNull};
      for (int i = -3; i <= 31; ++i) values.emplace_back(*base::Decimal::make(i * 25, -2));
      return values;
    }();
    for (const Value& x : numbers) {
      for (const Value& y : numbers) points_.push_back({x, y});
    }
  }
  std::set<std::vector<int>> matching() const {
    std::set<std::vector<int>> sets;
    for (const auto& point : points_) {
      const Explanation explanation = table_.explain(std::span<const Value>(point));
      if (explanation.decision.kind == Decision::Kind::kError &&
          explanation.decision.error.kind == EvaluationError::Kind::kNotAllowed) {
        continue;
      }
      std::vector<int> rules;
      for (const RuleTrace& trace : explanation.rules) {
        if (trace.result == Truth::kTrue) rules.push_back(trace.rule);
      }
      sets.insert(rules);
    }
    return sets;
  }

 private:
  const Table& table_;
  std::vector<std::vector<Value>> points_;
};

TableSpec random_table(std::mt19937& random, const std::string& hit_policy) {
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  const auto end = [&] { return std::to_string(pick(6)); };
  const auto cell = [&](const char* other) -> std::string {
    switch (pick(7)) {
      case 0: return "-";
      case 1: return "< " + end();
      case 2: return ">= " + end();
      case 3: {
        const int low = pick(5);
        return (pick(2) ? "[" : "(") + std::to_string(low) + ".." + std::to_string(low + pick(4)) + (pick(2) ? "]" : ")");
      }
      case 4: return end() + ", > " + end();
      case 5: return "not(" + end() + ", " + end() + ")";
      default: return std::string(std::array{"<= ", "> ", ""}[static_cast<size_t>(pick(3))]) + (pick(2) ? other : end().c_str());
    }
  };
  TableSpec spec;
  spec.hit_policy = hit_policy;
  spec.inputs = {{"x", "number", pick(3) == 0 ? "[0..5]" : ""}, {"y", "number"}};
  spec.outputs = {{""}};
  for (int i = 0, n = 1 + pick(6); i < n; ++i) spec.rules.push_back({{cell("y"), cell("x")}, {std::to_string(pick(3))}});
  return spec;
}

TEST(Proof, AgreesWithTryingAllFacts) {
  int with_gap = 0, with_overlap = 0, with_masked = 0;
  for (unsigned seed = 0; seed < 1500; ++seed) {
    std::mt19937 random(seed);
    const bool is_first = seed % 2 == 0;
    const TableSpec spec = random_table(random, is_first ? "FIRST" : "UNIQUE");
    const Table table = compiled(spec);
    const auto notes = prove(table);
    const auto sets = Grid(table).matching();
    SCOPED_TRACE(seed);
    const bool has_gap = sets.contains({});
    ASSERT_EQ(!of_kind(notes, Kind::kGap).empty(), has_gap);
    std::set<int> met, first;
    std::set<std::vector<int>> pairs;
    for (const auto& rules : sets) {
      met.insert(rules.begin(), rules.end());
      if (!rules.empty()) first.insert(rules.front());
      for (size_t a = 0; a < rules.size(); ++a) {
        for (size_t b = a + 1; b < rules.size(); ++b) pairs.insert({rules[a], rules[b]});
      }
    }
    std::set<int> never, masked;
    for (const auto& note : of_kind(notes, Kind::kNeverMet)) never.insert(note.rules[0]);
    for (const auto& note : of_kind(notes, Kind::kMasked)) masked.insert(note.rules[0]);
    for (int rule = 1; rule <= static_cast<int>(table.rules()); ++rule) {
      ASSERT_EQ(never.contains(rule), !met.contains(rule)) << rule;
      const bool is_net = rule == static_cast<int>(table.rules()) && spec.rules.back().when == std::vector<std::string>{"-", "-"};
      if (!is_first || is_net) continue;
      ASSERT_EQ(masked.contains(rule), met.contains(rule) && !first.contains(rule)) << rule;
    }
    if (!is_first) {
      std::set<std::vector<int>> told;
      for (const auto& note : of_kind(notes, Kind::kOverlap)) told.insert(note.rules);
      ASSERT_EQ(told, pairs);
    }
    with_gap += has_gap;
    with_overlap += !pairs.empty();
    with_masked += !masked.empty();
    for (const ProofNote& note : notes) {
      const auto answer = table.evaluate(note.example).kind;
      if (note.kind == Kind::kGap) { ASSERT_EQ(answer, Decision::Kind::kNoRule); }
      if (note.kind == Kind::kOverlap) { ASSERT_EQ(answer, Decision::Kind::kError); }
    }
  }
  EXPECT_GT(with_gap, 150);
  EXPECT_GT(with_overlap, 150);
  EXPECT_GT(with_masked, 100);
}

// Many rules, each with a half of most facts: a sweep alone visits more parts of such a table than
// there are points in it. Every point is tried, by the rules' own ends.
TEST(Proof, AgreesWithTryingAllFactsOfTablesWithManyHalves) {
  constexpr size_t kColumns = 5, kRules = 40;
  constexpr int kEnds = 6;
  int with_gap = 0, with_masked = 0;
  for (unsigned seed = 0; seed < 40; ++seed) {
    SCOPED_TRACE(seed);
    std::mt19937 random(seed);
    const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
    struct Half {
      bool is_asked = false, is_lower = false;
      int end = 0;
      bool holds(int value) const { return !is_asked || (value < end) == is_lower; }
      std::string text() const { return !is_asked ? "-" : (is_lower ? "< " : ">= ") + std::to_string(end); }
    };
    std::vector<std::array<Half, kColumns>> rules(kRules);
    TableSpec spec;
    spec.hit_policy = "FIRST";
    for (size_t c = 0; c < kColumns; ++c) spec.inputs.push_back({"f" + std::to_string(c), "number", "", true});
    spec.outputs = {{""}};
    for (auto& rule : rules) {
      auto& row = spec.rules.emplace_back();
      for (Half& half : rule) {
        half = {pick(10) < 6, pick(2) == 0, 1 + pick(kEnds)};
        row.when.push_back(half.text());
      }
      row.then = {"1"};
    }
    std::set<size_t> met, first;
    bool has_gap = false;
    std::array<int, kColumns> point{};
    const auto next = [&] {
      for (int& value : point) {
        if (++value <= kEnds) return true;
        value = 0;
      }
      return false;
    };
    do {
      bool any = false;
      for (size_t r = 0; r < kRules; ++r) {
        bool all = true;
        for (size_t c = 0; c < kColumns; ++c) all = all && rules[r][c].holds(point[c]);
        if (!all) continue;
        met.insert(r);
        if (!any) first.insert(r);
        any = true;
      }
      has_gap = has_gap || !any;
    } while (next());
    const Table table = compiled(spec);
    const auto notes = prove(table, {.notes = 1000});
    EXPECT_THAT(of_kind(notes, Kind::kNotDecided), IsEmpty());
    const auto gaps = of_kind(notes, Kind::kGap);
    EXPECT_EQ(!gaps.empty(), has_gap);
    for (const ProofNote& gap : gaps) {
      EXPECT_EQ(table.evaluate(gap.example).kind, Decision::Kind::kNoRule) << gap.region;
    }
    std::set<size_t> masked, expected;
    for (const auto& note : of_kind(notes, Kind::kMasked)) masked.insert(static_cast<size_t>(note.rules[0]) - 1);
    std::ranges::set_difference(met, first, std::inserter(expected, expected.end()));
    EXPECT_EQ(masked, expected);
    with_gap += has_gap;
    with_masked += !masked.empty();
  }
  EXPECT_GT(with_gap, 5);
  EXPECT_GT(with_masked, 5);
}

// A sweep alone decides neither question in so many steps.
TEST(Proof, DecidesAWideTableOfHalvesWithinItsLimits) {
  constexpr size_t kColumns = 10, kRules = 300;
  std::mt19937 random(1);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  TableSpec spec;
  spec.hit_policy = "FIRST";
  for (size_t c = 0; c < kColumns; ++c) spec.inputs.push_back({"f" + std::to_string(c), "number", "", true});
  spec.outputs = {{""}};
  for (size_t r = 0; r < kRules; ++r) {
    auto& row = spec.rules.emplace_back();
    for (size_t c = 0; c < kColumns; ++c) {
      row.when.push_back(pick(10) < 4 ? "-" : (pick(2) == 0 ? "< " : ">= ") + std::to_string(pick(1000)));
    }
    row.then = {"1"};
  }
  const Table table = compiled(spec);
  const auto notes = prove(table, {.steps = 2'000'000});
  EXPECT_THAT(of_kind(notes, Kind::kNotDecided), IsEmpty());
  const auto gaps = of_kind(notes, Kind::kGap), masked = of_kind(notes, Kind::kMasked);
  EXPECT_FALSE(gaps.empty());
  EXPECT_FALSE(masked.empty());
  for (const ProofNote& gap : gaps) {
    EXPECT_EQ(table.evaluate(gap.example).kind, Decision::Kind::kNoRule) << gap.region;
  }
  for (const ProofNote& note : masked) EXPECT_LT(table.evaluate(note.example).rules, note.rules);
}

}  // namespace
}  // namespace girdle::policy
