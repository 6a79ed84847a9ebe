#include "model/record.h"

#include <algorithm>

#include "base/json.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::model {
namespace {

using base::Decimal;
using base::JsonWriter;

// Length-prefixed, so that no two different lists of fields give the same bytes.
void put(std::string& out, std::string_view text) {
  size_t size = text.size();
  while (size >= 0x80) {
    out += static_cast<char>(size | 0x80);
    size >>= 7;
  }
  out += static_cast<char>(size);
  out += text;
}

void put(std::string& out, const std::optional<Decimal>& number) {
  if (!number) {
    out += '\0';
    return;
  }
  const size_t at = out.size();
  out += '\1';
  number->append_to(out);
  out[at] = static_cast<char>(out.size() - at);  // a decimal has under 110 characters
}

void put(std::string& out, base::Instant instant) {
  const auto millis = static_cast<uint64_t>(base::to_millis(instant));
  for (int shift = 56; shift >= 0; shift -= 8) out += static_cast<char>(millis >> shift);
}

template <class Enum>
void put(std::string& out, const std::optional<Enum>& word) {
  out += word ? static_cast<char>(static_cast<int>(*word) + 1) : '\0';
}

void put(std::string& out, const std::vector<std::pair<std::string, std::string>>& extra) {
  for (const auto& [name, value] : extra) {
    put(out, name);
    put(out, value);
  }
  out += '\0';
}

void member(JsonWriter& json, std::string_view name, const std::optional<Decimal>& number) {
  if (number) json.member(name, std::string_view(number->text()));
}

void member(JsonWriter& json, std::string_view name, const std::string& value) {
  if (!value.empty()) json.member(name, std::string_view(value));
}

template <class Enum>
  requires std::is_enum_v<Enum>
void member(JsonWriter& json, std::string_view name, const std::optional<Enum>& word) {
  if (word) json.member(name, text(*word));
}

void member(JsonWriter& json, std::string_view name, const std::vector<std::string>& words) {
  if (words.empty()) return;
  json.key(name).begin_array();
  for (const std::string& word : words) json.text(word);
  json.end_array();
}

void members(JsonWriter& json, const std::vector<std::pair<std::string, std::string>>& extra) {
  if (extra.empty()) return;
  json.key("extra").begin_object();
  for (const auto& [name, value] : extra) json.member(name, std::string_view(value));
  json.end_object();
}

void member(JsonWriter& json, const Place& place) {
  json.key("place").begin_object();
  json.member("offset", static_cast<int64_t>(place.offset));
  json.member("length", static_cast<int64_t>(place.length));
  if (place.line > 0) json.member("line", static_cast<int64_t>(place.line));
  json.end_object();
}

// Of the fields that may have a default.
void clear(Reading& reading, std::string_view field) {
  struct DecimalField {
    std::string_view name;
    std::optional<Decimal> Reading::*member;
  };
  static constexpr DecimalField kDecimals[] = {
      {"confidence", &Reading::confidence},       {"carat", &Reading::carat},
      {"table_mm", &Reading::table_mm},           {"length_mm", &Reading::length_mm},
      {"width_mm", &Reading::width_mm},           {"depth_mm", &Reading::depth_mm},
      {"temperature_c", &Reading::temperature_c}, {"humidity_pct", &Reading::humidity_pct}};
  struct TextField {
    std::string_view name;
    std::string Reading::*member;
  };
  static constexpr TextField kTexts[] = {{"color", &Reading::color},
                                         {"shape", &Reading::shape},
                                         {"operator", &Reading::operator_name},
                                         {"note", &Reading::note}};
  for (const DecimalField& known : kDecimals) {
    if (known.name == field) (reading.*known.member).reset();
  }
  for (const TextField& known : kTexts) {
    if (known.name == field) (reading.*known.member).clear();
  }
  if (field == "subject_kind") reading.subject_kind.reset();
  if (field == "diamond_type") reading.diamond_type.reset();
  if (field.starts_with("extra.")) {
    std::erase_if(reading.extra, [&](const auto& extra) { return extra.first == field.substr(6); });
  }
}

}  // namespace

bool is_default(const Reading& reading, std::string_view field) {
  return std::find(reading.defaults.begin(), reading.defaults.end(), field) != reading.defaults.end();
}

Reading without_defaults(Reading reading) {
  for (const std::string& name : reading.defaults) clear(reading, name);
  reading.defaults.clear();
  return reading;
}

void append_content(std::string& out, const Reading& r) {
  if (!r.defaults.empty()) return append_content(out, without_defaults(r));
  put(out, r.instrument);
  put(out, r.run);
  put(out, r.measured_at);
  put(out, r.stock_number);
  put(out, r.position);
  put(out, r.subject_kind);
  out += static_cast<char>(r.finding);
  put(out, r.diamond_type);
  for (const auto* number : {&r.confidence, &r.carat, &r.table_mm, &r.length_mm, &r.width_mm, &r.depth_mm,
                             &r.temperature_c, &r.humidity_pct}) {
    put(out, *number);
  }
  for (const auto* word : {&r.color, &r.shape, &r.operator_name, &r.note}) put(out, *word);
  put(out, r.extra);
}

void append_content(std::string& out, const Declaration& d) {
  put(out, d.stock_number);
  put(out, d.position);
  put(out, d.subject_kind);
  put(out, d.identity);
  for (const auto* word : {&d.color, &d.shape, &d.mount, &d.channel}) put(out, *word);
  for (const auto* number :
       {&d.carat, &d.table_mm, &d.length_mm, &d.width_mm, &d.depth_mm, &d.stones, &d.value}) {
    put(out, *number);
  }
  put(out, d.extra);
}

void append_content(std::string& out, const Scan& s) {
  put(out, s.bench);
  put(out, s.stock_number);
  put(out, s.position);
  put(out, s.scanned_at);
}

std::string subject_key(std::string_view stock_number, std::string_view position) {
  std::string key(stock_number);
  if (!position.empty()) {
    key += '#';
    key += position;
  }
  return key;
}

void write_json(std::string& out, const Reading& r) {
  JsonWriter json(out);
  json.begin_object();
  json.member("record", "reading");
  json.member("instrument", std::string_view(r.instrument));
  member(json, "run", r.run);
  json.member("measured_at", std::string_view(base::format_rfc3339(r.measured_at)));
  member(json, "time_rule", r.time_rule);
  member(json, "stock_number", r.stock_number);
  member(json, "position", r.position);
  member(json, "subject_kind", r.subject_kind);
  json.member("finding", text(r.finding));
  member(json, "diamond_type", r.diamond_type);
  member(json, "confidence", r.confidence);
  member(json, "carat", r.carat);
  member(json, "color", r.color);
  member(json, "shape", r.shape);
  member(json, "table_mm", r.table_mm);
  member(json, "length_mm", r.length_mm);
  member(json, "width_mm", r.width_mm);
  member(json, "depth_mm", r.depth_mm);
  member(json, "temperature_c", r.temperature_c);
  member(json, "humidity_pct", r.humidity_pct);
  member(json, "operator", r.operator_name);
  member(json, "note", r.note);
  members(json, r.extra);
  member(json, "defaults", r.defaults);
  member(json, r.place);
  json.end_object();
}

void write_json(std::string& out, const Declaration& d) {
  JsonWriter json(out);
  json.begin_object();
  json.member("record", "declaration");
  json.member("stock_number", std::string_view(d.stock_number));
  member(json, "position", d.position);
  member(json, "subject_kind", d.subject_kind);
  member(json, "identity", d.identity);
  member(json, "carat", d.carat);
  member(json, "color", d.color);
  member(json, "shape", d.shape);
  member(json, "table_mm", d.table_mm);
  member(json, "length_mm", d.length_mm);
  member(json, "width_mm", d.width_mm);
  member(json, "depth_mm", d.depth_mm);
  member(json, "mount", d.mount);
  member(json, "stones", d.stones);
  member(json, "value", d.value);
  member(json, "channel", d.channel);
  if (d.declared_at) json.member("declared_at", std::string_view(base::format_rfc3339(*d.declared_at)));
  members(json, d.extra);
  member(json, d.place);
  json.end_object();
}

void write_json(std::string& out, const Scan& s) {
  JsonWriter json(out);
  json.begin_object();
  json.member("record", "scan");
  json.member("bench", std::string_view(s.bench));
  json.member("scanned_at", std::string_view(base::format_rfc3339(s.scanned_at)));
  json.member("stock_number", std::string_view(s.stock_number));
  member(json, "position", s.position);
  member(json, s.place);
  json.end_object();
}

void write_json(std::string& out, const Aside& aside) {
  JsonWriter json(out);
  json.begin_object();
  json.member("reason", std::string_view(aside.reason));
  json.member("bytes", std::string_view(base::excerpt(aside.bytes, 200)));
  member(json, aside.place);
  json.end_object();
}

}  // namespace girdle::model
