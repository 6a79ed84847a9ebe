// Any bytes as each of the four kinds of files, and as outlets: nothing crashes, and nothing is
// silently half read.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "small_house.h"

namespace {

using namespace girdle::config;

void must(bool holds) {
  if (!holds) std::abort();
}

// Also of a configuration that is wrong: what stands in for a value has no place.
void check_leaf(const Leaf& leaf) {
  must(leaf.from.size() <= 8 && (leaf.decimal_mark == '.' || leaf.decimal_mark == ','));
  for (const Text& pointer : leaf.from) {
    must(pointer.mark.line > 0 && (pointer.text.empty() || pointer.text.front() == '/'));
  }
  if (leaf.from.empty()) must(leaf.words.empty() && !leaf.has_default && leaf.form.empty());
  if (leaf.mark.line == 0) must(leaf.from.empty() && leaf.constant == "-");
  must(leaf.zone.empty() || !leaf.form.empty());
}

void check_tree(const Tree& tree, int levels) {
  must(levels > 0);
  if (const auto* leaf = std::get_if<Leaf>(&tree.value)) return check_leaf(*leaf);
  if (const auto* items = std::get_if<std::vector<Tree>>(&tree.value)) {
    for (const Tree& item : *items) check_tree(item, levels - 1);
    return;
  }
  for (const auto& [name, member] : std::get<1>(tree.value)) {
    must(name.mark.line > 0);
    check_tree(member, levels - 1);
  }
}

void check_body(const Body& body) {
  constexpr int kMostLevels = 32;  // of a file
  const bool has_tree = body.kind == Body::Kind::kJson || body.kind == Body::Kind::kXml;
  if (has_tree) check_tree(body.tree, kMostLevels);
  for (const auto& [name, leaf] : body.fields) check_leaf(leaf);
  const bool has_fields = body.kind == Body::Kind::kForm || body.kind == Body::Kind::kCsv;
  must(has_fields != body.fields.empty());
  if (body.kind == Body::Kind::kXml) must(std::get<1>(body.tree.value).size() == 1);
  must(body.kind == Body::Kind::kXml || body.list.text.empty());
  must((body.kind == Body::Kind::kEpcis) != body.epcis.item.text.empty());
}

void check_outlet(const Outlet& outlet, bool ok) {
  check_body(outlet.body);
  for (const Leaf& segment : outlet.webhook.request.path) check_leaf(segment);
  for (const auto& [name, leaf] : outlet.webhook.request.query) check_leaf(leaf);
  for (const auto& [name, leaf] : outlet.webhook.request.headers) check_leaf(leaf);
  must(outlet.in_flight >= 1 && outlet.in_flight <= 64 && outlet.batch.count >= 1);
  must(outlet.per_minute >= 0 && outlet.per_minute <= 60000);
  if (!ok) return;
  must(outlet.whole && outlet.body.mark.line > 0);
  if (outlet.folder) {
    must(outlet.in_flight == 1 && outlet.folder->path.is_absolute());
    must(outlet.body.kind != Body::Kind::kBinary && outlet.body.kind != Body::Kind::kForm);
    return;
  }
  const Webhook& webhook = outlet.webhook;
  must(!webhook.url.empty());
  must(webhook.anonymous != (webhook.secret.given() || webhook.bearer.given() || webhook.basic ||
                             webhook.oauth || webhook.certificate));
  must(webhook.bearer.given() + webhook.basic.has_value() + webhook.oauth.has_value() <= 1);
  must(outlet.batch.count == 1 || outlet.body.kind == Body::Kind::kBatch);
}

void check_settings(const Loaded& loaded) {
  for (const Problem& problem : loaded.problems) {
    must(!problem.text.empty() && !problem.file.empty());
    must(problem.mark.line >= 0 && (problem.mark.line == 0) == (problem.mark.column == 0));
  }
  for (const Outlet& outlet : loaded.settings.outlets) check_outlet(outlet, loaded.ok());
  if (!loaded.ok()) return;
  must(!loaded.settings.site.empty() && loaded.settings.ledger.is_absolute());
  for (const Intake& intake : loaded.settings.intakes) {
    must(!intake.name.empty() && intake.mapping_whole);
    must(intake.mapping.fields.empty() != intake.mapping.sections.empty());
    for (const auto& section : intake.mapping.sections) {
      must(section.ignore.empty() ? !section.fields.empty() : section.fields.empty());
      must(section.ignore.empty() || !section.when.empty());
    }
  }
}

// Rules that are right, also of a mapping that is not.
void check_rules(const std::vector<girdle::model::FieldRule>& rules) {
  for (const auto& rule : rules) {
    must(rule.has_constant == rule.from.empty());
    must(rule.match.empty() || (!rule.has_constant && rule.match_mark.line > 0));
    must(rule.gs1.empty() || (!rule.has_constant && rule.gs1_mark.line > 0));
    must(rule.take.empty() || (!rule.match.empty() && rule.take_mark.line > 0));
    must(rule.default_value.empty() || (!rule.has_constant && rule.default_mark.line > 0));
    must(rule.has_words || !(rule.fold_case || rule.fold_space));
  }
}

// Numbers are within their bounds in a policy that is wrong, too.
void check_policy(const Policy& policy, bool ok) {
  const auto half = *girdle::base::Decimal::parse("0.5");
  must(policy.repeat_correlation >= 0 && policy.repeat_correlation <= 1);
  must(policy.miss_limit > 0 && policy.miss_limit < half);
  must(policy.false_alarm_limit > 0 && policy.false_alarm_limit < half);
  must(policy.confidence >= half && policy.confidence < 1);
  must(!policy.valid_from || policy.valid_from_mark.line > 0);
  for (const auto& [language, texts] : policy.reasons) must(!language.empty());
  for (const auto& table : {policy.table, policy.required_table, policy.routing}) {
    must(!table || !table->rules.empty());
    must(!ok || !table || table->whole);
  }
  if (!ok) return;
  must(policy.valid_from.has_value() == (policy.valid_from_mark.line > 0));
  for (const Prior& prior : policy.priors) {
    auto sum = girdle::base::Decimal(0);
    for (const auto& share : prior.shares) sum = add(sum, share).value();
    must(sum == 1);
  }
  for (const Example& example : policy.examples) {
    must(!example.facts.empty());
    must(!example.disposition.text.empty() || !example.reason.text.empty() ||
         !example.required.text.empty() || example.outlets);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const std::string head = "site: a\nledger: { path: l.db }\n";
  const std::string intake =
      "intakes: [{ name: a, folder: { path: in }, reader: r, mapping: m.yaml }]\n";

  check_settings(load("/house/girdled.yaml", small_house(text)));

  // As outlets, and what they name is there.
  MemoryFiles served = small_house(head + "outlets:\n" + text);
  served.folder("/house/out").file("/house/c.pem", "").credentials_in("/run/credentials/girdled");
  check_settings(load("/house/girdled.yaml", served));

  MemoryFiles mapped = small_house(head + intake);
  mapped.file("/house/m.yaml", text);
  const Loaded with_mapping = load("/house/girdled.yaml", mapped);
  check_settings(with_mapping);
  const auto& mapping = with_mapping.settings.intakes.at(0).mapping;
  check_rules(mapping.fields);
  for (const auto& section : mapping.sections) {
    check_rules(section.fields);
    for (const auto& test : section.when) must(!test.texts.empty() || !with_mapping.ok());
  }

  MemoryFiles ruled = small_house(head + "policy: p.yaml\n");
  ruled.file("/house/p.yaml", text);
  const Loaded with_policy = load("/house/girdled.yaml", ruled);
  check_settings(with_policy);
  check_policy(with_policy.settings.policy, with_policy.ok());

  MemoryFiles table;
  table.file("/t.yaml", text);
  const LoadedTable loaded = load_table("/t.yaml", table);
  must(!loaded.problems.empty() || loaded.table.whole);
  for (const TableRule& rule : loaded.table.rules) {
    must(!loaded.table.whole || rule.mark.line > 0);
    for (const Text& cell : rule.when) must(!loaded.table.whole || cell.mark.line > 0);
  }
  return 0;
}
