#include "draft/record_names.h"

#include <algorithm>
#include <span>

#include "draft/column_names.h"

namespace girdle::draft {
namespace {

constexpr std::string_view kOwn[] = {"finding", "measured_at", "time",     "stock_number",
                                     "run",     "carat",       "identity", "date"};
constexpr std::string_view kShared[] = {"instrument",    "measured_at",  "date",     "time",
                                        "temperature_c", "humidity_pct", "operator", "bench"};

bool means_one_of(std::string_view name, std::span<const std::string_view> fields) {
  const auto meanings = meanings_of(name);
  return std::any_of(meanings.begin(), meanings.end(), [&](const NameMeaning& meaning) {
    return meaning.strength > 1 &&
           std::find(fields.begin(), fields.end(), meaning.field) != fields.end();
  });
}

}  // namespace

bool is_of_a_record(std::string_view name) { return means_one_of(name, kOwn); }
bool may_be_shared(std::string_view name) { return means_one_of(name, kShared); }

}  // namespace girdle::draft
