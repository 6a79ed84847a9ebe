#include <charconv>
#include <utility>

#include "columns/columns_reader.h"
#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::columns {

namespace {

constexpr uint64_t kMostTabStop = 16;

// One of two words, the first where the option is not given.
bool read_choice(const girdle_reader_setup& setup, const char* name, std::string_view first,
                 std::string_view second, bool& is_second, std::string& refusal) {
  const std::string_view value = kit::option(setup, name);
  is_second = value == second;
  if (value.empty() || value == first || is_second) return true;
  refusal = std::string(name) + ": must be " + std::string(first) + " or " + std::string(second);
  return false;
}

bool read_measure(const girdle_reader_setup& setup, Measure& measure, std::string& refusal) {
  bool as_is = false;
  if (!read_choice(setup, "count", "characters", "bytes", measure.bytes, refusal)) return false;
  if (!read_choice(setup, "trim", "true", "false", as_is, refusal)) return false;
  if (!read_choice(setup, "short", "aside", "pad", measure.pad, refusal)) return false;
  measure.trim = !as_is;
  const std::string_view stop = kit::option(setup, "tabs");
  if (stop.empty()) return true;
  const auto [end, error] =
      std::from_chars(stop.data(), stop.data() + stop.size(), measure.tab_stop);
  if (error == std::errc() && end == stop.data() + stop.size() && measure.tab_stop <= kMostTabStop)
    return true;
  refusal = "tabs: must be from 1 to 16, as many positions as from one tab stop to the next, or 0";
  return false;
}

bool few_enough(const Layout& layout, uint64_t most, std::string& refusal) {
  uint64_t carried = 0;
  uint64_t own = 0;
  for (const LineKind& kind : layout.kinds) {
    if (kind.carried) carried += kind.names.size();
    if (!kind.carried) own = std::max<uint64_t>(own, kind.names.size());
  }
  if (carried + own <= most) return true;
  refusal = "fields: more than the " + std::to_string(most) + " fields that a record may have";
  return false;
}

uint64_t fingerprint_of(const girdle_reader_setup& setup) {
  kit::Fingerprint print;
  for (const char* name : {"fields", "ignore", "count", "trim", "short", "tabs", "encoding"})
    print.add(kit::option(setup, name));
  return print.value();
}

}  // namespace

std::optional<Options> Options::from(const girdle_reader_setup& setup, std::string& refusal) {
  Options options;
  std::optional<Layout> layout =
      Layout::from(kit::option(setup, "fields"), kit::option(setup, "ignore"),
                   std::min(setup.max_record_bytes, kit::kMostRecordBytes), refusal);
  if (!layout || !few_enough(*layout, setup.max_fields, refusal)) return std::nullopt;
  options.layout = std::move(*layout);
  if (!read_measure(setup, options.measure, refusal)) return std::nullopt;
  std::optional<TextEncoding> encoding = TextEncoding::from(setup, refusal);
  if (!encoding) return std::nullopt;
  options.encoding = *encoding;
  options.fingerprint = fingerprint_of(setup);
  return options;
}

}  // namespace girdle::columns
