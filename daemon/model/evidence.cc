#include "model/evidence.h"

#include <simdjson.h>

#include <array>
#include <limits>
#include <numeric>

namespace girdle::model {
namespace {

constexpr std::array<std::string_view, 8> kCommonWords = {
    "natural",  "laboratory_grown", "treated", "composite",
    "simulant", "indeterminate",    "mixed",   "none"};
constexpr std::array<std::string_view, 4> kLimitWords = {"met", "against", "open", "unknown"};

void write_number(base::JsonWriter& json, std::string_view name,
                  const std::optional<base::Decimal>& value) {
  if (value) json.member(name, std::string_view(value->text()));
}

void write_word(base::JsonWriter& json, std::string_view name, const std::string& value) {
  if (!value.empty()) json.member(name, std::string_view(value));
}

void write_stone(base::JsonWriter& json, const Stone& stone) {
  if (stone == Stone()) return;
  json.key("stone").begin_object();
  if (stone.kind != SubjectKind::kStone) json.member("kind", text(stone.kind));
  write_number(json, "carat", stone.carat);
  write_word(json, "color", stone.color);
  write_word(json, "shape", stone.shape);
  write_word(json, "mount", stone.mount);
  write_number(json, "stones", stone.stones);
  write_number(json, "value", stone.value);
  write_word(json, "channel", stone.channel);
  json.end_object();
}

// In a flat list for the ledger, which keeps one for every outcome: finding, instrument, runs; and
// so on.
void write_said_short(base::JsonWriter& json, const std::vector<Said>& said) {
  if (said.empty()) return;
  json.key("said").begin_array();
  for (const Said& one : said) json.text(text(one.finding)).text(one.instrument).number(one.runs);
  json.end_array();
}

void write_said(base::JsonWriter& json, const std::vector<Said>& said) {
  if (said.empty()) return;
  json.key("said").begin_array();
  for (const Said& one : said) {
    json.begin_object()
        .member("finding", text(one.finding))
        .member("instrument", std::string_view(one.instrument));
    json.member("runs", int64_t{one.runs}).end_object();
  }
  json.end_array();
}

void write_estimate(base::JsonWriter& json, const CaratEstimate& estimate) {
  json.key("carat_estimate").begin_object();
  json.member("carat", std::string_view(estimate.carat.text()));
  json.member("low", std::string_view(estimate.low.text()))
      .member("high", std::string_view(estimate.high.text()));
  if (estimate.plausible) json.member("plausible", *estimate.plausible);
  json.end_object();
}

void write_probability(base::JsonWriter& json, const Probability& probability) {
  json.key("probability").begin_object().member("of", text(probability.of));
  json.member("value", std::string_view(probability.value.text()));
  json.member("low", std::string_view(probability.low.text()));
  json.member("high", std::string_view(probability.high.text())).end_object();
}

// Reads what the writers above wrote; anything else is a fault.
class DetailReader {
 public:
  explicit DetailReader(Evidence& evidence) : evidence_(evidence) {}

  bool read(simdjson::dom::object object) {
    for (const auto [name, value] : object) {
      if (!member(name, value)) return false;
    }
    return true;
  }

 private:
  using Element = simdjson::dom::element;

  static bool word(Element from, std::string& to) {
    std::string_view text;
    if (from.get(text) != simdjson::SUCCESS) return false;
    to = text;
    return true;
  }
  static bool number(Element from, base::Decimal& to) {
    std::string_view text;
    if (from.get(text) != simdjson::SUCCESS) return false;
    const auto value = base::Decimal::parse(text);
    if (value) to = *value;
    return value.has_value();
  }
  static bool number(Element from, std::optional<base::Decimal>& to) {
    return number(from, to.emplace());
  }
  static bool count(Element from, int& to) {
    int64_t number = 0;
    if (from.get(number) != simdjson::SUCCESS || number < 0 ||
        number > std::numeric_limits<int>::max())
      return false;
    to = static_cast<int>(number);
    return true;
  }
  static bool finding(Element from, Finding& to) {
    std::string_view text;
    const auto found = from.get(text) == simdjson::SUCCESS ? finding_of(text) : std::nullopt;
    if (found) to = *found;
    return found.has_value();
  }
  // Of an object: `read` takes name and value.
  template <class Read>
  static bool members(Element from, Read read) {
    simdjson::dom::object object;
    if (from.get(object) != simdjson::SUCCESS) return false;
    for (const auto [name, value] : object) {
      if (!read(name, value)) return false;
    }
    return true;
  }

  bool member(std::string_view name, Element value) {
    if (name == "stone") {
      return members(value,
                     [this](std::string_view key, Element part) { return stone(key, part); });
    }
    if (name == "said") return said(value);
    if (name == "probability") return probability(value);
    if (name == "carat_estimate") return estimate(value);
    if (name == "more_runs") return count(value, evidence_.more_runs.emplace());
    return name == "error_limits" && limits(value);
  }

  bool stone(std::string_view name, Element value) {
    Stone& s = evidence_.stone;
    if (name == "kind") {
      std::string kind;
      const auto found = word(value, kind) ? subject_kind_of(kind) : std::nullopt;
      s.kind = found.value_or(s.kind);
      return found.has_value();
    }
    if (name == "carat") return number(value, s.carat);
    if (name == "color") return word(value, s.color);
    if (name == "shape") return word(value, s.shape);
    if (name == "mount") return word(value, s.mount);
    if (name == "stones") return number(value, s.stones);
    if (name == "value") return number(value, s.value);
    return name == "channel" && word(value, s.channel);
  }

  bool said(Element value) {
    simdjson::dom::array array;
    if (value.get(array) != simdjson::SUCCESS || array.size() % 3 != 0) return false;
    for (auto at = array.begin(); at != array.end(); ++at) {
      Said& one = evidence_.said.emplace_back();
      if (!finding(*at, one.finding) || !word(*++at, one.instrument) || !count(*++at, one.runs))
        return false;
    }
    return true;
  }

  bool probability(Element value) {
    Probability& p = evidence_.probability.emplace();
    return members(value, [&p](std::string_view name, Element part) {
      if (name == "of") return finding(part, p.of);
      if (name == "value") return number(part, p.value);
      if (name == "low") return number(part, p.low);
      return name == "high" && number(part, p.high);
    });
  }

  bool estimate(Element value) {
    CaratEstimate& e = evidence_.carat_estimate.emplace();
    return members(value, [&e](std::string_view name, Element part) {
      if (name == "plausible") {
        bool plausible = false;
        if (part.get(plausible) != simdjson::SUCCESS) return false;
        e.plausible = plausible;
        return true;
      }
      if (name == "carat") return number(part, e.carat);
      if (name == "low") return number(part, e.low);
      return name == "high" && number(part, e.high);
    });
  }

  bool limits(Element value) {
    std::string text;
    if (!word(value, text)) return false;
    for (size_t i = 0; i < kLimitWords.size(); ++i) {
      if (kLimitWords[i] != text) continue;
      evidence_.error_limits = static_cast<ErrorLimits>(i);
      return true;
    }
    return false;
  }

  Evidence& evidence_;
};

}  // namespace

bool Evidence::is_told() const {
  return std::accumulate(said.begin(), said.end(), 0,
                         [](int sum, const Said& one) { return sum + one.runs; }) == valid;
}

std::string_view text(Evidence::Common value) { return kCommonWords[static_cast<size_t>(value)]; }
std::string_view text(ErrorLimits value) { return kLimitWords[static_cast<size_t>(value)]; }

namespace {

void write_rest(base::JsonWriter& json, const Evidence& evidence) {
  write_stone(json, evidence.stone);
  if (evidence.probability) write_probability(json, *evidence.probability);
  if (evidence.error_limits != ErrorLimits::kUnknown)
    json.member("error_limits", text(evidence.error_limits));
  if (evidence.more_runs) json.member("more_runs", int64_t{*evidence.more_runs});
  if (evidence.carat_estimate) write_estimate(json, *evidence.carat_estimate);
}

}  // namespace

void write_detail(base::JsonWriter& json, const Evidence& evidence) {
  write_said(json, evidence.said);
  write_rest(json, evidence);
}

std::string evidence_detail(const Evidence& evidence) {
  std::string out;
  base::JsonWriter json(out);
  json.begin_object();
  write_said_short(json, evidence.said);
  write_rest(json, evidence);
  json.end_object();
  return out == "{}" ? std::string() : out;
}

bool read_detail(std::string_view text, Evidence& evidence) {
  if (text.empty()) return true;
  thread_local simdjson::dom::parser parser;
  simdjson::dom::object object;
  if (parser.parse(text.data(), text.size()).get(object) != simdjson::SUCCESS) return false;
  Evidence read = evidence;
  if (!DetailReader(read).read(object)) return false;
  evidence = std::move(read);
  return true;
}

}  // namespace girdle::model
