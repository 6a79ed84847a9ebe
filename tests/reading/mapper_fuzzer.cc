// Mappings over any records: one record, one that is ignored or one reason, the same from a known
// layout as from an unknown one, and no value outside of what its field may hold. Any pattern, and
// anything taken of what it matches.
#include <cstdio>
#include <cstdlib>

#include "base/text.h"
#include "base/time.h"
#include "reading/mapper.h"
#include "reading/mappings.h"

using namespace girdle;
using namespace girdle::reading;

namespace {

void hold(bool holds, const char* what, const std::string& reason) {
  if (holds) return;
  std::fprintf(stderr, "%s: %s\n", what, reason.c_str());
  std::abort();
}

model::Mapping mapping_of(uint8_t choice) {
  const char marks[][2] = {{'.', '\0'}, {',', '\0'}, {',', '.'}, {'.', ' '}};
  const auto& mark = marks[choice % 4];
  const auto in = [&](const char* field, const char* column, const char* unit) {
    return number(from(field, {column}), unit, mark[0], mark[1]);
  };
  if (choice & 0x80) {
    return declaration_mapping({in("carat", "b", "g"), in("stones", "c", ""), in("value", "d", ""),
                                in("depth_mm", "e", "in"), from("identity", {"f"}),
                                time(from("declared_at", {"g"}), "%d.%m.%Y", "", "later"),
                                from("extra.x", {"h", "a"})});
  }
  model::Mapping mapping = reading_mapping(
      {from("stock_number", {"item"}), in("carat", "b", "mg"), in("confidence", "c", "percent"),
       in("temperature_c", "d", "F"), in("humidity_pct", "e", "1"), in("table_mm", "f", "um"),
       from("note", {"g", "h"}), from("diamond_type", {"a"})});
  const char* const forms[] = {"rfc3339", "unix_ms", "%d.%m.%Y %H:%M:%S", "%e %b %y %I:%M %p"};
  mapping.fields[1] =
      time(from("measured_at", {"at"}), forms[choice / 4 % 4], "America/New_York", "earlier");
  return mapping;
}

// What the third byte adds to the rules of a reading: each of its bits something else.
void add_rules(model::Mapping& mapping, uint8_t more, std::string_view match,
               std::string_view take) {
  const auto add = [&](model::FieldRule rule) { mapping.fields.push_back(std::move(rule)); };
  if (more & 1)
    add(pattern(from("run", {"run"}), "([A-Z]+)-(?P<number>\\d{1,9})", "\\g<number>/\\1"));
  if (more & 2) {
    add(folded(words(from("subject_kind", {"kind"}),
                     {{"Loser Stein", "stone"}, {"ГАРНИТУР", "piece"}, {"-", ""}}),
               more & 4, more & 8));
  }
  if (more & 16) add(or_else(joined(from("operator", {"g", "h"}), "; "), "nobody"));
  if (more & 64) add(gs1(from("extra.code", {"code"}), {"8004", "21"}));
  if (more & 32) add(or_else(number(from("length_mm", {"i"}), "in", ',', '.'), "0,25"));
  if (match.empty()) return;
  add(or_else(pattern(from("extra.own", {"g"}), std::string(match), std::string(take)), "?"));
}

// The rules of a reading, those of a declaration, and records that are ignored.
model::Mapping in_sections(const model::Mapping& reading) {
  return sections({ignored({{"a", {"H", "L"}}}, "header and trailer"),
                   ignored({{"a", {""}}, {"h", {"", "-"}}}, "blank"),
                   section({{"a", {"D"}}}, mapping_of(0x80)),
                   section({{"result", {"A", "B", "C", "-"}}}, reading)});
}

bool within(const std::optional<base::Decimal>& value, int low, int high) {
  return !value || (*value >= base::Decimal(low) && *value <= base::Decimal(high));
}

void check(const model::Records& records, const std::string& reason) {
  for (const model::Reading& r : records.readings) {
    hold(within(r.confidence, 0, 1) && within(r.humidity_pct, 0, 100), "out of range", reason);
    hold(!r.carat || *r.carat > base::Decimal(0), "a carat of nothing", reason);
    hold(!r.temperature_c || *r.temperature_c > base::Decimal(-274), "too cold", reason);
    hold(base::is_utf8(r.stock_number + r.position + r.note), "not UTF-8", reason);
    hold(r.stock_number.size() <= 200 && r.stock_number.find('#') == std::string::npos, "a key",
         reason);
    hold(base::parse_rfc3339(base::format_rfc3339(r.measured_at)) == r.measured_at, "a time",
         reason);
    hold(r.position.empty() || !r.stock_number.empty(), "a position of nothing", reason);
    hold(model::without_defaults(r).defaults.empty(), "defaults stay", reason);
    for (const std::string& name : r.defaults) {
      hold(name == "operator" || name == "length_mm" || name == "extra.own",
           "a default of another field", reason);
    }
    hold(r.operator_name != "; ", "joined nothing", reason);
  }
  for (const model::Declaration& d : records.declarations) {
    hold(!d.stock_number.empty() && base::is_utf8(d.stock_number), "no stock number", reason);
    hold(!d.stones || (d.stones->is_integer() && *d.stones > base::Decimal(0)), "half a stone",
         reason);
    hold(!d.depth_mm || !d.depth_mm->is_negative(), "negative", reason);
  }
}

std::string_view next_line(std::string_view& rest) {
  const std::string_view line = rest.substr(0, rest.find('\n'));
  rest.remove_prefix(std::min(line.size() + 1, rest.size()));
  return line;
}

}  // namespace

// The first byte chooses the mapping (0x40: the third byte adds rules, and the first two lines are
// a pattern and what is taken; 0x20: sections), the second whether records may be sparse; then
// lines of name=value.
extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  if (size < 3) return 0;
  std::string_view rest(reinterpret_cast<const char*>(data) + 2, size - 2);
  model::Mapping mapping = mapping_of(data[0]);
  const bool grown = (data[0] & 0xC0) == 0x40;
  if (grown) {
    rest.remove_prefix(1);
    const std::string_view match = next_line(rest);
    add_rules(mapping, data[2], match, next_line(rest));
  }
  if ((data[0] & 0xA0) == 0x20) mapping = in_sections(mapping);
  auto mapper = Mapper::compile(mapping, "Europe/Brussels", data[1] & 1);
  const auto faults = Mapper::faults(mapping, "Europe/Brussels");
  hold(mapper.ok() == faults.empty(), "faults, and none", mapper ? "" : mapper.error().text);
  for (const Fault& fault : faults) {
    hold(grown && fault.text.size() < 500, "the mapping does not compile", fault.text);
  }
  if (!mapper) return 0;
  std::vector<std::pair<std::string, std::string>> fields;
  while (!rest.empty() && fields.size() < 40) {
    const std::string_view line = next_line(rest);
    const size_t mark = std::min(line.find('='), line.size());
    fields.emplace_back(line.substr(0, mark), line.substr(std::min(mark + 1, line.size())));
  }
  const RawRecord record(std::move(fields));
  model::Records first, again;
  std::string reason, other;
  const auto applied = mapper->apply(record.lent(1), 1, first, reason);
  hold(applied != Mapper::Applied::kBreach, "a breach", reason);
  hold((applied == Mapper::Applied::kMade) == (first.size() == 1) && first.asides.empty(),
       "neither nor", reason);
  hold((applied == Mapper::Applied::kIgnored) == (first.ignored.size() == 1), "not counted",
       reason);
  hold((applied == Mapper::Applied::kRefused) == !reason.empty() && base::is_utf8(reason),
       "a reason", reason);
  hold(reason.size() < 2000, "a long reason", reason);
  check(first, reason);
  mapper->apply(record.lent(1), 1, again, other);
  mapper->apply(record.lent(0), 2, again, other);
  hold(reason == other && again.size() == 2 * first.size(), "another time, another result", reason);
  hold(first.ignored.empty() ? again.ignored.empty() : again.ignored[0].count == 2, "another count",
       reason);
  for (const model::Reading& r : again.readings)
    hold(r == first.readings[0], "another reading", reason);
  for (const model::Declaration& d : again.declarations)
    hold(d == first.declarations[0], "another declaration", reason);
  return 0;
}
