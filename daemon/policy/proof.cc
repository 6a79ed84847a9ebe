#include "policy/proof.h"

#include <algorithm>
#include <array>
#include <numeric>
#include <unordered_map>

#include "base/text.h"
#include "policy/coverage.h"
#include "policy/fact_domain.h"

namespace girdle::policy {
namespace {

using base::in_quotes;

constexpr std::array<std::string_view, 6> kNames = {"overlap",   "masked", "never_met",
                                                    "cell_part", "gap",    "not_decided"};

std::string rule_text(size_t rule) { return "rule " + std::to_string(rule + 1); }

}  // namespace

std::string_view name_of(ProofNote::Kind kind) { return kNames[static_cast<size_t>(kind)]; }

// The questions, one function each, over blocks that are made first.
class TableProof {
 public:
  TableProof(const Table& table, const ProofLimits& limits, std::span<const ProofFact> facts)
      : table_(table), limits_(limits), facts_(facts), steps_left_(limits.steps) {}

  std::vector<ProofNote> run();

 private:
  using Kind = ProofNote::Kind;
  struct CellOfRule {
    size_t rule = 0;
    const Table::Cell* cell = nullptr;
  };

  // Facts that are compared with each other, as lists of them.
  std::vector<std::vector<size_t>> groups() const;
  void make_domains(const std::vector<std::vector<size_t>>& groups);
  void list_cells();
  bool make_block(const std::vector<size_t>& facts);
  void add_values(Block& block, const std::vector<size_t>& member,
                  std::unordered_map<BitSet, size_t, BitSetHash>& known);
  BitSet rules_at(const std::vector<size_t>& facts, const std::vector<Value>& values) const;

  void find_cell_parts();
  void find_never_met();
  void find_overlaps();
  void find_masked();
  void find_gaps();

  void note(ProofNote note);
  void tell_how_many_more();
  // Of each block the classes where something holds.
  using Place = std::vector<BitSet>;
  Place everywhere() const;
  Place where(size_t rule) const;
  static bool is_somewhere(const Place& place);
  bool meet(size_t a, size_t b) const;
  static Place both(Place a, const Place& b);
  Box box_of(const Place& place) const;
  bool say_the_same(size_t a, size_t b) const;
  std::vector<std::vector<Value>> outputs() const;
  bool is_stronger(size_t a, size_t b, const std::vector<std::vector<Value>>& outputs) const;
  bool is_safety_net(size_t rule) const;
  Facts example_of(const Box& box) const;
  std::string region_of(const Box& box) const;

  const Table& table_;
  const ProofLimits limits_;
  const std::span<const ProofFact> facts_;
  uint64_t steps_left_;
  std::vector<std::vector<CellOfRule>> cells_of_;  // by the fact that they test
  std::vector<FactDomain> domains_;                // by fact
  std::vector<Block> blocks_;
  std::vector<Place> where_;         // of each rule
  std::vector<ProofNote> notes_;
  std::array<size_t, kNames.size()> told_{};
};

std::vector<ProofNote> TableProof::run() {
  const auto all = groups();
  make_domains(all);
  list_cells();
  for (const auto& facts : all) {
    if (make_block(facts)) continue;
    note({.kind = Kind::kNotDecided,
          .text = "nothing was decided: facts that cells compare with each other have too many combinations"});
    return std::move(notes_);
  }
  // Few classes first: the sweep then splits late.
  std::ranges::stable_sort(blocks_, {}, [](const Block& block) { return block.classes.size(); });
  for (size_t rule = 0; rule < table_.rules_.size(); ++rule) where_.push_back(where(rule));
  find_overlaps();
  find_masked();
  find_never_met();
  find_cell_parts();
  find_gaps();
  std::ranges::stable_sort(notes_, {}, &ProofNote::kind);
  tell_how_many_more();
  return std::move(notes_);
}

std::vector<std::vector<size_t>> TableProof::groups() const {
  std::vector<size_t> leader(table_.fact_names_.size());
  std::iota(leader.begin(), leader.end(), 0);
  const auto find = [&](size_t fact) {
    while (leader[fact] != fact) fact = leader[fact] = leader[leader[fact]];
    return fact;
  };
  for (const Table::Rule& rule : table_.rules_) {
    for (const Table::Cell& cell : rule.cells) {
      for (const Comparison& comparison : cell.test.comparisons()) {
        for (const Operand* operand : {&comparison.low, &comparison.high}) {
          if (operand->is_name()) leader[find(static_cast<size_t>(operand->fact))] = find(cell.fact);
        }
      }
    }
  }
  std::vector<std::vector<size_t>> groups(leader.size());
  for (size_t fact = 0; fact < leader.size(); ++fact) groups[find(fact)].push_back(fact);
  std::erase_if(groups, [](const auto& group) { return group.empty(); });
  return groups;
}

void TableProof::make_domains(const std::vector<std::vector<size_t>>& groups) {
  std::vector<FactDomain::Use> uses(table_.fact_names_.size());
  for (size_t fact = 0; fact < uses.size(); ++fact) uses[fact].type = table_.fact_types_[fact];
  const auto add_test = [&](size_t fact, const UnaryTest& test) {
    for (const Comparison& comparison : test.comparisons()) {
      if (!comparison.is_equality()) uses[fact].is_ordered = true;
      for (const Operand* operand : {&comparison.low, &comparison.high}) {
        if (!operand->is_name()) uses[fact].ends.push_back(operand->literal);
      }
    }
  };
  std::vector<UnaryTest> allowed;
  allowed.reserve(facts_.size());
  for (const ProofFact& known : facts_) {
    const auto at = std::ranges::find(table_.fact_names_, known.name);
    if (at == table_.fact_names_.end()) continue;
    const auto fact = static_cast<size_t>(at - table_.fact_names_.begin());
    uses[fact].is_whole = known.is_whole;
    uses[fact].may_be_missing = !known.is_always_known;
    auto test = UnaryTest::parse(known.allowed_values);
    if (!test) continue;  // nothing said
    allowed.push_back(std::move(test).value());
    uses[fact].allowed.push_back(&allowed.back());
    add_test(fact, allowed.back());
  }
  for (const Table::InputColumn& input : table_.inputs_) {
    if (input.required) uses[input.fact].may_be_missing = false;
    if (!input.has_allowed) continue;
    uses[input.fact].allowed.push_back(&input.allowed);
    add_test(input.fact, input.allowed);
  }
  for (const Table::Rule& rule : table_.rules_) {
    for (const Table::Cell& cell : rule.cells) add_test(cell.fact, cell.test);
  }
  for (const auto& group : groups) {
    if (group.size() == 1) continue;
    FactDomain::Use all;
    for (const size_t fact : group) {
      all.ends.insert(all.ends.end(), uses[fact].ends.begin(), uses[fact].ends.end());
      all.is_ordered = all.is_ordered || uses[fact].is_ordered;
    }
    for (const size_t fact : group) {
      uses[fact].ends = all.ends;
      uses[fact].is_ordered = all.is_ordered;
      uses[fact].compared_with = group.size() - 1;
    }
  }
  for (const FactDomain::Use& use : uses) domains_.emplace_back(use);
}

void TableProof::list_cells() {
  cells_of_.resize(table_.fact_names_.size());
  for (size_t rule = 0; rule < table_.rules_.size(); ++rule) {
    for (const Table::Cell& cell : table_.rules_[rule].cells) cells_of_[cell.fact].push_back({rule, &cell});
  }
}

// False where its facts have too many combinations.
bool TableProof::make_block(const std::vector<size_t>& facts) {
  size_t combinations = 1;
  for (const size_t fact : facts) {
    combinations *= std::max<size_t>(domains_[fact].members().size(), 1);
    if (combinations > limits_.combinations) return false;
  }
  Block block;
  block.facts = facts;
  std::unordered_map<BitSet, size_t, BitSetHash> known;
  std::vector<size_t> member(facts.size());
  const auto next = [&] {
    for (size_t i = 0; i < member.size(); ++i) {
      if (++member[i] < domains_[facts[i]].members().size()) return true;
      member[i] = 0;
    }
    return false;
  };
  const bool any = std::ranges::none_of(facts, [&](size_t fact) { return domains_[fact].members().empty(); });
  if (any) {
    do {
      add_values(block, member, known);
    } while (next());
  }
  blocks_.push_back(std::move(block));
  return true;
}

void TableProof::add_values(Block& block, const std::vector<size_t>& member,
                            std::unordered_map<BitSet, size_t, BitSetHash>& known) {
  std::vector<Value> values;
  for (size_t i = 0; i < member.size(); ++i) {
    values.push_back(domains_[block.facts[i]].members()[member[i]].value);
  }
  const auto [at, fresh] = known.emplace(rules_at(block.facts, values), block.classes.size());
  const bool is_single = block.facts.size() == 1;
  if (fresh) {
    block.classes.push_back({at->first, std::move(values)});
  }
  if (is_single) {
    block.classes[at->second].places.push_back(domains_[block.facts[0]].members()[member[0]].place);
  }
}

// The rules whose cells on these facts are all satisfied.
BitSet TableProof::rules_at(const std::vector<size_t>& facts, const std::vector<Value>& values) const {
  std::vector<Value> all(table_.fact_names_.size());
  for (size_t i = 0; i < facts.size(); ++i) all[facts[i]] = values[i];
  BitSet rules(table_.rules_.size(), true);
  for (const size_t fact : facts) {
    for (const CellOfRule& asks : cells_of_[fact]) {
      if (!rules.has(asks.rule)) continue;
      if (asks.cell->test.evaluate(all[fact], all) != Truth::kTrue) rules.remove(asks.rule);
    }
  }
  return rules;
}

TableProof::Place TableProof::everywhere() const {
  Place place;
  for (const Block& block : blocks_) place.emplace_back(block.classes.size(), true);
  return place;
}

TableProof::Place TableProof::where(size_t rule) const {
  Place place;
  for (const Block& block : blocks_) {
    BitSet& classes = place.emplace_back(block.classes.size());
    for (size_t c = 0; c < block.classes.size(); ++c) {
      if (block.classes[c].rules.has(rule)) classes.add(c);
    }
  }
  return place;
}

bool TableProof::is_somewhere(const Place& place) {
  return std::ranges::none_of(place, [](const BitSet& classes) { return classes.empty(); });
}

// Some facts match both rules.
bool TableProof::meet(size_t a, size_t b) const {
  for (size_t i = 0; i < blocks_.size(); ++i) {
    if (!where_[a][i].meets(where_[b][i])) return false;
  }
  return true;
}

TableProof::Place TableProof::both(Place a, const Place& b) {
  for (size_t i = 0; i < a.size(); ++i) a[i] &= b[i];
  return a;
}

Box TableProof::box_of(const Place& place) const {
  Box box;
  for (size_t i = 0; i < blocks_.size(); ++i) {
    auto& classes = box.emplace_back();
    for (size_t c = 0; c < blocks_[i].classes.size(); ++c) {
      if (place[i].has(c)) classes.push_back(c);
    }
  }
  return box;
}

Facts TableProof::example_of(const Box& box) const {
  Facts facts;
  for (size_t i = 0; i < blocks_.size(); ++i) {
    const Block& block = blocks_[i];
    const size_t c = box[i].front();
    for (size_t f = 0; f < block.facts.size(); ++f) {
      const Value& value = block.classes[c].example[f];
      if (!is_null(value)) facts[table_.fact_names_[block.facts[f]]] = value;
    }
  }
  return facts;
}

std::string TableProof::region_of(const Box& box) const {
  std::vector<std::pair<size_t, std::string>> parts;
  for (size_t i = 0; i < box.size(); ++i) {
    const Block& block = blocks_[i];
    if (block.facts.size() != 1) continue;
    const FactDomain& domain = domains_[block.facts[0]];
    std::vector<bool> places(domain.places());
    for (const size_t c : box[i]) {
      for (const size_t place : block.classes[c].places) places[place] = true;
    }
    const std::string text = domain.region(places);
    if (text != "anything") parts.emplace_back(block.facts[0], table_.fact_names_[block.facts[0]] + " " + text);
  }
  std::ranges::sort(parts);
  std::string region;
  for (const auto& [fact, text] : parts) region += (region.empty() ? "" : "; ") + text;
  return region;
}

void TableProof::note(ProofNote note) {
  if (++told_[static_cast<size_t>(note.kind)] <= limits_.notes) notes_.push_back(std::move(note));
}

void TableProof::tell_how_many_more() {
  for (size_t kind = 0; kind < told_.size(); ++kind) {
    if (told_[kind] <= limits_.notes) continue;
    const auto last = std::find_if(notes_.rbegin(), notes_.rend(), [&](const ProofNote& note) {
      return note.kind == static_cast<Kind>(kind);
    });
    last->text += "; and " + std::to_string(told_[kind] - limits_.notes) + " more of this kind";
  }
}

bool TableProof::say_the_same(size_t a, size_t b) const {
  const auto& left = table_.rules_[a].then;
  const auto& right = table_.rules_[b].then;
  for (size_t i = 0; i < left.size(); ++i) {
    if (left[i].fact != right[i].fact || left[i].literal != right[i].literal) return false;
  }
  return true;
}

// UNIQUE: no two may match; ANY: no two that say different things.
void TableProof::find_overlaps() {
  const bool is_any = table_.hit_policy_ == HitPolicy::kAny;
  if (!is_any && table_.hit_policy_ != HitPolicy::kUnique) return;
  for (size_t a = 0; a < where_.size(); ++a) {
    for (size_t b = a + 1; b < where_.size(); ++b) {
      if (is_any && say_the_same(a, b)) continue;
      if (!meet(a, b)) continue;
      if (told_[static_cast<size_t>(Kind::kOverlap)] >= limits_.notes) {
        ++told_[static_cast<size_t>(Kind::kOverlap)];
        continue;
      }
      const Box box = box_of(both(where_[a], where_[b]));
      note({.kind = Kind::kOverlap,
            .is_error = true,
            .rules = {static_cast<int>(a) + 1, static_cast<int>(b) + 1},
            .text = rule_text(a) + " and " + rule_text(b) +
                    (is_any ? " match the same facts and say different things"
                            : " match the same facts, and UNIQUE lets one rule match"),
            .region = region_of(box),
            .example = example_of(box)});
    }
  }
}

// What each rule says; nothing of one that takes it from a fact.
std::vector<std::vector<Value>> TableProof::outputs() const {
  std::vector<std::vector<Value>> all;
  for (const Table::Rule& rule : table_.rules_) {
    auto& values = all.emplace_back();
    if (std::ranges::any_of(rule.then, &Operand::is_name)) continue;
    for (const Operand& operand : rule.then) values.push_back(operand.literal);
  }
  return all;
}

// Of two rules that match, `a` is the one that decides.
bool TableProof::is_stronger(size_t a, size_t b, const std::vector<std::vector<Value>>& outputs) const {
  if (table_.hit_policy_ == HitPolicy::kFirst) return a < b;
  if (outputs[a].empty() || outputs[b].empty()) return false;
  if (table_.ranks_before(outputs[a], outputs[b])) return true;
  return !table_.ranks_before(outputs[b], outputs[a]) && a < b;
}

// A last row for what the others may have left: it is right that it has nothing to do.
bool TableProof::is_safety_net(size_t rule) const {
  return rule + 1 == table_.rules_.size() && table_.rules_[rule].cells.empty();
}

void TableProof::find_masked() {
  if (table_.hit_policy_ != HitPolicy::kFirst && table_.hit_policy_ != HitPolicy::kPriority) return;
  const auto said = outputs();
  for (size_t rule = 0; rule < where_.size(); ++rule) {
    if (!is_somewhere(where_[rule]) || is_safety_net(rule)) continue;
    BitSet stronger(where_.size());
    std::vector<size_t> candidates;
    for (size_t other = 0; other < where_.size(); ++other) {
      if (other == rule || !is_stronger(other, rule, said) || !meet(other, rule)) continue;
      stronger.add(other);
      candidates.push_back(other);
    }
    if (candidates.empty()) continue;
    const Box box = box_of(where_[rule]);
    Coverage coverage(blocks_, where_.size(), steps_left_);
    const auto answer = coverage.is_covered(stronger, box);
    if (answer == Coverage::Answer::kNotDecided) {
      note({.kind = Kind::kNotDecided,
            .rules = {static_cast<int>(rule) + 1},
            .text = "whether " + rule_text(rule) + " and those behind it can ever decide was not found out in time"});
      return;
    }
    if (answer == Coverage::Answer::kGaps) continue;
    std::string by;
    for (const size_t other : candidates) {
      if (by.size() < 60) by += (by.empty() ? "" : ", ") + std::to_string(other + 1);
    }
    note({.kind = Kind::kMasked,
          .is_error = true,
          .rules = {static_cast<int>(rule) + 1},
          .text = rule_text(rule) + " can never decide: wherever it matches, a stronger rule does too (" + by + ")",
          .region = region_of(box),
          .example = example_of(box)});
  }
}

void TableProof::find_never_met() {
  for (size_t rule = 0; rule < where_.size(); ++rule) {
    if (is_somewhere(where_[rule])) continue;
    note({.kind = Kind::kNeverMet,
          .is_error = true,
          .rules = {static_cast<int>(rule) + 1},
          .text = rule_text(rule) + " can never match: no allowed facts satisfy all of its cells"});
  }
}

// A comparison of literals, in a list of several, that no member of the fact's domain satisfies.
void TableProof::find_cell_parts() {
  for (size_t rule = 0; rule < table_.rules_.size(); ++rule) {
    for (const Table::Cell& cell : table_.rules_[rule].cells) {
      const auto& comparisons = cell.test.comparisons();
      for (size_t part = 0; part < comparisons.size(); ++part) {
        const Comparison& comparison = comparisons[part];
        if (comparison.low.is_name() || comparison.high.is_name()) continue;
        const bool met = std::ranges::any_of(domains_[cell.fact].members(), [&](const FactDomain::Member& member) {
          return comparison.evaluate(member.value, {}) == Truth::kTrue;
        });
        if (met) continue;
        note({.kind = Kind::kCellPart,
              .is_error = true,
              .rules = {static_cast<int>(rule) + 1},
              .column = static_cast<int>(cell.column) + 1,
              .text = rule_text(rule) + ", " + in_quotes(table_.fact_names_[cell.fact]) + ": " +
                      (comparisons.size() > 1 ? "part " + std::to_string(part + 1) + " of " : "") + "the cell " +
                      in_quotes(cell.text) + " lies outside the allowed values"});
      }
    }
  }
}

// Multiple hit policies give what matches, which may be nothing; a default is an answer too.
void TableProof::find_gaps() {
  if (gives_list(table_.hit_policy_) || table_.aggregation_ != Aggregation::kNone || !table_.defaults_.empty()) return;
  Coverage coverage(blocks_, where_.size(), steps_left_);
  size_t gaps = 0;
  const auto on_gap = [&](const Box& box) {
    note({.kind = Kind::kGap,
          .text = "no rule matches, and there is no default",
          .region = region_of(box),
          .example = example_of(box)});
    return ++gaps < limits_.notes;
  };
  const auto answer = coverage.ask(BitSet(where_.size(), true), box_of(everywhere()), on_gap);
  if (answer == Coverage::Answer::kNotDecided) {
    note({.kind = Kind::kNotDecided, .text = "whether there are more facts that no rule matches was not found out in time"});
  }
}

std::vector<ProofNote> prove(const Table& table, const ProofLimits& limits, std::span<const ProofFact> facts) {
  return TableProof(table, limits, facts).run();
}

}  // namespace girdle::policy
