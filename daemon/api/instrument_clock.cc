#include "api/instrument_clock.h"

#include <algorithm>

namespace girdle::api {
namespace {

// Of all ways, for the twenty that came at once to be among them.
constexpr int64_t kLookedAt = 60;

bool comes_at_once(const House& house, const std::string& intake) {
  const auto view = std::ranges::find(house.intakes, intake, &IntakeView::name);
  return view != house.intakes.end() && view->kind != "folder";
}

}  // namespace

std::optional<base::Millis> clock_offset(ledger::Ledger& ledger, const House& house,
                                         std::span<const ledger::StoredReading> latest) {
  std::optional<base::Millis> smallest;
  size_t counted = 0;
  for (const ledger::StoredReading& stored : latest) {
    if (!comes_at_once(house, ledger.intake_name(stored.intake))) continue;
    const base::Millis offset = stored.came_at - stored.reading.measured_at;
    smallest = std::min(smallest.value_or(offset), offset);
    if (++counted == kClockReadings) break;
  }
  return smallest;
}

base::Result<std::optional<base::Millis>> clock_offset_of(ledger::Ledger& ledger, const House& house,
                                                          ledger::Number instrument) {
  const auto latest = ledger.last_readings_of(instrument, kLookedAt);
  if (!latest) return latest.error();
  return clock_offset(ledger, house, *latest);
}

}  // namespace girdle::api
