// Zones, through date/tz and the machine's own database.
#include <date/tz.h>

#include <algorithm>
#include <exception>

#include "base/calendar.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::base {
namespace {

Error unknown_zone(std::string_view name) {
  std::vector<std::string_view> names;
  for (const auto& zone : date::get_tzdb().zones) names.push_back(zone.name());
  const std::string_view near = nearest(name, names);
  return input_error("no time zone \"" + excerpt(name) + "\"" +
                     (near.empty() ? "; IANA names look like Europe/Brussels"
                                   : "; did you mean " + std::string(near) + "?"));
}

// The whole second at or before.
date::local_seconds second_of(int64_t local_millis) {
  return date::local_seconds(
      std::chrono::seconds(local_millis / 1'000 - (local_millis % 1'000 < 0)));
}

}  // namespace

Result<Zone> Zone::find(std::string_view name) {
  try {
    return Zone(date::locate_zone(std::string(name)), std::string(name));
  } catch (const std::exception&) {
    // Not in the database; or there is no database.
  }
  try {
    return unknown_zone(name);
  } catch (const std::exception&) {
    return environment_error("this machine has no time zone database; install the package tzdata");
  }
}

Zone Zone::utc() {
  auto zone = find("Etc/UTC");
  return zone ? std::move(zone).value() : Zone(nullptr, "UTC");
}

Result<Instant> Zone::to_instant(int64_t local_millis, TwiceRule twice) const {
  if (local_millis >= cached_from_ && local_millis < cached_to_) {
    return from_millis(local_millis - cached_offset_);
  }
  if (!zone_) return from_millis(local_millis);
  try {
    const date::local_info info = zone_->get_info(second_of(local_millis));
    const int64_t first = info.first.offset.count() * 1'000;
    if (info.result == date::local_info::nonexistent) {
      return input_error("this hour does not come in " + name_ + " that night: the clocks skip it");
    }
    if (info.result == date::local_info::unique) {
      // Two days clear of either end of the stretch, no other offset can mean the same local time.
      constexpr int64_t kClear = 2 * kDayMillis;
      constexpr int64_t kFar = 400'000'000'000;  // s; the ends are near the type's limits
      const int64_t begin = info.first.begin.time_since_epoch().count();
      const int64_t end = info.first.end.time_since_epoch().count();
      cached_from_ = std::clamp(begin, -kFar, kFar) * 1'000 + kClear;
      cached_to_ = std::clamp(end, -kFar, kFar) * 1'000 - kClear;
      cached_offset_ = first;
      return from_millis(local_millis - first);
    }
    const int64_t second = info.second.offset.count() * 1'000;
    switch (twice) {
      case TwiceRule::kEarlier:
        return from_millis(local_millis - std::max(first, second));
      case TwiceRule::kLater:
        return from_millis(local_millis - std::min(first, second));
      case TwiceRule::kRefuse:
        break;
    }
    return input_error("this hour comes twice in " + name_ +
                       " that night; the mapping can say which with  twice: earlier  or  "
                       "twice: later");
  } catch (const std::exception& failure) {
    return input_error(std::string("the time zone database refuses it: ") + failure.what());
  }
}

int64_t Zone::offset_seconds(Instant instant) const {
  if (!zone_) return 0;
  try {
    return zone_->get_info(date::floor<std::chrono::seconds>(instant)).offset.count();
  } catch (const std::exception&) {
    return 0;
  }
}

}  // namespace girdle::base
