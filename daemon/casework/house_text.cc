// The text of a house: JSON, written in one order and read back.
#include <simdjson.h>

#include "base/json.h"
#include "base/time.h"
#include "casework/decide.h"
#include "casework/house_spec.h"

namespace girdle::casework {
namespace {

using base::Decimal;
using base::JsonWriter;
using policy::TableSpec;

void write_texts(JsonWriter& json, std::string_view name,
                 const std::map<std::string, Located>& limits) {
  json.key(name).begin_object();
  for (const auto& [fact, test] : limits) json.member(fact, std::string_view(test.text));
  json.end_object();
}

void write_table(JsonWriter& json, std::string_view name, const TableSpec& spec) {
  json.key(name).begin_object();
  json.member("hit_policy", std::string_view(spec.hit_policy));
  json.member("aggregation", std::string_view(spec.aggregation));
  json.key("inputs").begin_array();
  for (const auto& input : spec.inputs) {
    json.begin_object().member("expression", std::string_view(input.expression));
    json.member("type", std::string_view(input.type))
        .member("allowed_values", std::string_view(input.allowed_values));
    if (input.required) json.member("required", true);
    json.end_object();
  }
  json.end_array().key("outputs").begin_array();
  for (const auto& output : spec.outputs) {
    json.begin_object()
        .member("name", std::string_view(output.name))
        .member("type", std::string_view(output.type));
    json.member("allowed_values", std::string_view(output.allowed_values));
    json.member("default", std::string_view(output.default_value)).end_object();
  }
  json.end_array().key("rules").begin_array();
  for (const auto& rule : spec.rules) {
    json.begin_object().key("when").begin_array();
    for (const std::string& cell : rule.when) json.text(cell);
    json.end_array().key("then").begin_array();
    for (const std::string& cell : rule.then) json.text(cell);
    json.end_array();
    if (!rule.note.empty()) json.member("note", std::string_view(rule.note));
    json.end_object();
  }
  json.end_array().end_object();
}

// Answers without a count are left out.
void write_counts(JsonWriter& json, const HouseSpec::Instrument& instrument) {
  if (!instrument.known_stones) return;
  json.key("known_stones")
      .begin_object()
      .member("source", std::string_view(instrument.known_stones_source));
  for (size_t identity = 0; identity < evidence::kIdentities; ++identity) {
    json.key(text(static_cast<model::Finding>(identity))).begin_array();
    for (const int64_t count : (*instrument.known_stones)[identity]) json.number(count);
    json.end_array();
  }
  json.end_object();
}

void write_instruments(JsonWriter& json, const std::vector<HouseSpec::Instrument>& instruments) {
  json.key("instruments").begin_array();
  for (const HouseSpec::Instrument& instrument : instruments) {
    json.begin_object();
    json.member("serial", std::string_view(instrument.serial))
        .member("bench", std::string_view(instrument.bench));
    json.member("cycle", std::string_view(base::format_duration(instrument.cycle)));
    write_texts(json, "scope", instrument.scope);
    write_texts(json, "ambient", instrument.ambient);
    write_counts(json, instrument);
    json.end_object();
  }
  json.end_array();
}

void write_priors(JsonWriter& json, const std::vector<HouseSpec::Priors>& priors) {
  if (priors.empty()) return;
  json.key("priors").begin_array();
  for (const HouseSpec::Priors& one : priors) {
    json.begin_object()
        .member("channel", std::string_view(one.channel))
        .key("shares")
        .begin_array();
    for (const Decimal& share : one.shares) json.text(share.text());
    json.end_array().end_object();
  }
  json.end_array();
}

void write_unless(JsonWriter& json, std::string_view name, const Decimal& value,
                  const Decimal& fallback) {
  if (value != fallback) json.member(name, std::string_view(value.text()));
}

using Element = simdjson::dom::element;

// Reads the JSON of rules_text(). The first thing that is not as it would be written ends it.
class RulesReader {
 public:
  base::Result<HouseSpec> read(std::string_view text) {
    simdjson::dom::parser parser;
    Element root;
    if (parser.parse(text.data(), text.size()).get(root) != simdjson::SUCCESS ||
        !root.is_object()) {
      return base::input_error("the rules are no JSON object");
    }
    HouseSpec spec;
    read_spec(root, spec);
    if (!is_right()) return base::input_error("the rules cannot be read: " + wrong_);
    return spec;
  }

 private:
  // After the first fault elements may be none, and are not looked at.
  bool is_right() const { return wrong_.empty(); }
  void fail(std::string_view name) {
    if (wrong_.empty()) wrong_ = std::string(name) + " is missing or of another kind";
  }
  template <class Value>
  Value get(Element from, std::string_view name) {
    Value value{};
    if (is_right() && from[name].get(value) != simdjson::SUCCESS) fail(name);
    return value;
  }
  bool has(Element from, std::string_view name) const {
    return is_right() && from[name].error() == simdjson::SUCCESS;
  }
  std::string text(Element from, std::string_view name) {
    return std::string(get<std::string_view>(from, name));
  }
  std::string text_or_none(Element from, std::string_view name) {
    return has(from, name) ? text(from, name) : "";
  }
  bool flag_or_false(Element from, std::string_view name) {
    return has(from, name) && get<bool>(from, name);
  }
  Element member(Element from, std::string_view name) { return get<Element>(from, name); }

  base::Millis duration(Element from, std::string_view name) {
    const auto value = base::parse_duration(text(from, name));
    if (!value) fail(name);
    return value.value_or(base::Millis(0));
  }
  Decimal decimal(std::string_view value, std::string_view name) {
    const auto number = Decimal::parse(value);
    if (!number) fail(name);
    return number.value_or(Decimal());
  }
  void decimal_if(Element from, std::string_view name, Decimal& to) {
    if (has(from, name)) to = decimal(get<std::string_view>(from, name), name);
  }

  template <class Each>
  void items(Element from, std::string_view name, Each each) {
    simdjson::dom::array array;
    if (!is_right()) return;
    if (from[name].get(array) != simdjson::SUCCESS) return fail(name);
    for (const Element item : array) each(item);
  }
  std::vector<std::string> texts(Element from, std::string_view name) {
    std::vector<std::string> found;
    items(from, name, [&](Element item) {
      std::string_view text;
      if (item.get(text) != simdjson::SUCCESS) fail(name);
      found.emplace_back(text);
    });
    return found;
  }
  std::map<std::string, Located> named_texts(Element from, std::string_view name) {
    std::map<std::string, Located> found;
    simdjson::dom::object object;
    if (!is_right()) return found;
    if (from[name].get(object) != simdjson::SUCCESS) {
      fail(name);
      return found;
    }
    for (const auto [key, value] : object) {
      std::string_view text;
      if (value.get(text) != simdjson::SUCCESS) fail(name);
      found[std::string(key)].text = text;
    }
    return found;
  }

  TableSpec table(Element from) {
    TableSpec spec;
    spec.hit_policy = text(from, "hit_policy");
    spec.aggregation = text(from, "aggregation");
    items(from, "inputs", [&](Element item) {
      TableSpec::Input& input = spec.inputs.emplace_back();
      input.expression = text(item, "expression");
      input.type = text(item, "type");
      input.allowed_values = text(item, "allowed_values");
      input.required = flag_or_false(item, "required");
    });
    items(from, "outputs", [&](Element item) {
      TableSpec::Output& output = spec.outputs.emplace_back();
      output.name = text(item, "name");
      output.type = text(item, "type");
      output.allowed_values = text(item, "allowed_values");
      output.default_value = text(item, "default");
    });
    items(from, "rules", [&](Element item) {
      TableSpec::Rule& rule = spec.rules.emplace_back();
      rule.when = texts(item, "when");
      rule.then = texts(item, "then");
      rule.note = text_or_none(item, "note");
    });
    return spec;
  }

  // Exactly as many as `to` has.
  template <size_t size>
  void counts(Element from, std::string_view name, std::array<int64_t, size>& to) {
    size_t i = 0;
    items(from, name, [&](Element item) {
      if (i >= size || item.get(to[i]) != simdjson::SUCCESS) return fail(name);
      ++i;
    });
    if (i != size) fail(name);
  }

  void instrument(Element from, HouseSpec::Instrument& to) {
    to.serial = text(from, "serial");
    to.bench = text(from, "bench");
    to.cycle = duration(from, "cycle");
    to.scope = named_texts(from, "scope");
    to.ambient = named_texts(from, "ambient");
    if (!has(from, "known_stones")) return;
    const Element known = member(from, "known_stones");
    to.known_stones_source = text(known, "source");
    HouseSpec::Counts& all = to.known_stones.emplace();
    for (size_t i = 0; i < all.size(); ++i)
      counts(known, model::text(static_cast<model::Finding>(i)), all[i]);
  }

  void priors(Element from, HouseSpec::Priors& to) {
    to.channel = text(from, "channel");
    const std::vector<std::string> shares = texts(from, "shares");
    if (shares.size() != to.shares.size()) return fail("shares");
    for (size_t i = 0; i < shares.size(); ++i) to.shares[i] = decimal(shares[i], "shares");
  }

  void read_spec(Element from, HouseSpec& spec) {
    spec.name = text(from, "name");
    spec.version = text(from, "version");
    const int64_t required = get<int64_t>(from, "required");
    if (required < 1 || required > kMostRequired) fail("required");
    spec.required = static_cast<int>(required);
    spec.reopen_after = duration(from, "reopen_after");
    spec.scan_fresh = duration(from, "scan_fresh");
    spec.accept_unknown_scope = get<bool>(from, "accept_unknown_scope");
    spec.table = table(member(from, "table"));
    items(from, "instruments",
          [&](Element item) { instrument(item, spec.instruments.emplace_back()); });
    if (has(from, "valid_from")) {
      spec.valid_from = base::parse_rfc3339(get<std::string_view>(from, "valid_from"));
      if (!spec.valid_from) fail("valid_from");
    }
    decimal_if(from, "repeat_correlation", spec.repeat_correlation);
    decimal_if(from, "miss_limit", spec.miss_limit);
    decimal_if(from, "false_alarm_limit", spec.false_alarm_limit);
    decimal_if(from, "confidence", spec.confidence);
    if (has(from, "priors")) {
      items(from, "priors", [&](Element item) { priors(item, spec.priors.emplace_back()); });
    }
    if (has(from, "required_table")) spec.required_table = table(member(from, "required_table"));
    if (has(from, "routing")) spec.routing = table(member(from, "routing"));
    if (has(from, "reasons")) spec.reasons = named_texts(from, "reasons");
    spec.market = text_or_none(from, "market");
  }

  std::string wrong_;
};

}  // namespace

std::string rules_text(const HouseSpec& spec) {
  static const HouseSpec kDefault;
  std::string out;
  JsonWriter json(out);
  json.begin_object();
  json.member("name", std::string_view(spec.name))
      .member("version", std::string_view(spec.version));
  json.member("required", int64_t{spec.required});
  json.member("reopen_after", std::string_view(base::format_duration(spec.reopen_after)));
  json.member("scan_fresh", std::string_view(base::format_duration(spec.scan_fresh)));
  json.member("accept_unknown_scope", spec.accept_unknown_scope);
  write_table(json, "table", spec.table);
  write_instruments(json, spec.instruments);
  if (spec.valid_from)
    json.member("valid_from", std::string_view(base::format_rfc3339(*spec.valid_from)));
  write_unless(json, "repeat_correlation", spec.repeat_correlation, kDefault.repeat_correlation);
  write_unless(json, "miss_limit", spec.miss_limit, kDefault.miss_limit);
  write_unless(json, "false_alarm_limit", spec.false_alarm_limit, kDefault.false_alarm_limit);
  write_unless(json, "confidence", spec.confidence, kDefault.confidence);
  write_priors(json, spec.priors);
  if (spec.required_table) write_table(json, "required_table", *spec.required_table);
  if (spec.routing) write_table(json, "routing", *spec.routing);
  if (!spec.reasons.empty()) write_texts(json, "reasons", spec.reasons);
  if (!spec.market.empty()) json.member("market", std::string_view(spec.market));
  json.end_object();
  return out;
}

base::Result<HouseSpec> read_rules(std::string_view text) { return RulesReader().read(text); }

}  // namespace girdle::casework
