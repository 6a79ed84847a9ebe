// Mappings over any records: one record or one reason, the same from a known layout as from an
// unknown one, and no value outside of what its field may hold.
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
  }
  for (const model::Declaration& d : records.declarations) {
    hold(!d.stock_number.empty() && base::is_utf8(d.stock_number), "no stock number", reason);
    hold(!d.stones || (d.stones->is_integer() && *d.stones > base::Decimal(0)), "half a stone",
         reason);
    hold(!d.depth_mm || !d.depth_mm->is_negative(), "negative", reason);
  }
}

}  // namespace

// The first byte chooses the mapping, the second whether records may be sparse; then lines of
// name=value.
extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  if (size < 2) return 0;
  auto mapper = Mapper::compile(mapping_of(data[0]), "Europe/Brussels", data[1] & 1);
  hold(mapper.ok(), "the mapping does not compile", mapper ? "" : mapper.error().text);
  std::string_view rest(reinterpret_cast<const char*>(data) + 2, size - 2);
  std::vector<std::pair<std::string, std::string>> fields;
  while (!rest.empty() && fields.size() < 40) {
    const std::string_view line = rest.substr(0, rest.find('\n'));
    rest.remove_prefix(std::min(line.size() + 1, rest.size()));
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
  hold((applied == Mapper::Applied::kMade) == reason.empty() && base::is_utf8(reason), "a reason",
       reason);
  hold(reason.size() < 2000, "a long reason", reason);
  check(first, reason);
  mapper->apply(record.lent(1), 1, again, other);
  mapper->apply(record.lent(0), 2, again, other);
  hold(reason == other && again.size() == 2 * first.size(), "another time, another result", reason);
  for (const model::Reading& r : again.readings)
    hold(r == first.readings[0], "another reading", reason);
  for (const model::Declaration& d : again.declarations)
    hold(d == first.declarations[0], "another declaration", reason);
  return 0;
}
