// Instruments: when each was last seen, how its clock stands, and what it said from day to day.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <unordered_map>

#include "api/identifier.h"
#include "api/instrument_clock.h"
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"
#include "base/time.h"

namespace girdle::api {
namespace {

using base::Instant;
using base::Result;
using ledger::Ledger;
using ledger::StoredReading;

// Readings that are looked at: of one instrument alone, and of all in a list together.
constexpr int64_t kMostAlone = 10'000, kMostTogether = 5'000;
constexpr int64_t kFewest = 20;  // of each in a list, however many there are
constexpr int64_t kDaysListed = 30;

struct Day {
  int64_t runs = 0, voids = 0, referrals = 0;

  void add(const Day& other) {
    runs += other.runs;
    voids += other.voids;
    referrals += other.referrals;
  }
};
using DayNumber = std::chrono::sys_days;

struct Instrument {
  std::string serial, bench;
  bool configured = false;
  std::optional<Instant> last_measured_at, last_came_at;
  ledger::Number number = 0;  // 0: it has no readings
};

struct Activity {
  std::map<DayNumber, Day> days;
  std::optional<base::Millis> clock_offset;
  bool complete = true;

  Day sum() const {
    Day sum;
    for (const auto& [number, day] : days) sum.add(day);
    return sum;
  }
};

DayNumber day_of(Instant at) { return std::chrono::floor<std::chrono::days>(at); }

// Those of the configuration, and all others of which there are readings; by serial number.
Result<std::vector<Instrument>> all_of(Ledger& ledger, const House& house) {
  std::map<std::string, Instrument> all;
  for (const InstrumentView& view : house.instruments) all[view.serial] = {view.serial, view.bench, true, {}, {}, 0};
  const auto rows = ledger.instruments();
  if (!rows) return rows.error();
  for (const ledger::InstrumentRow& row : *rows) {
    Instrument& one = all[row.serial];
    one.serial = row.serial;
    one.number = row.number;
    one.last_measured_at = row.last_measured_at;
    one.last_came_at = row.last_came_at;
  }
  std::vector<Instrument> sorted;
  for (auto& [serial, one] : all) sorted.push_back(std::move(one));
  return sorted;
}

Result<bool> is_referred(Ledger& ledger, const ledger::CaseRow& row) {
  const auto outcome = ledger.outcome(row.number, row.sequence);
  if (!outcome) return outcome.error();
  return *outcome && (*outcome)->decision.disposition == model::Disposition::kRefer;
}

// A case counts on the day of its last measurement by the instrument.
Result<void> add_referrals(Ledger& ledger, ledger::Number subject, const std::vector<Instant>& measured,
                           Activity& activity) {
  const auto cases = ledger.cases_of(subject);
  if (!cases) return cases.error();
  for (const ledger::CaseRow& row : *cases) {
    if (row.state != ledger::CaseState::kOpen) continue;
    std::optional<Instant> last;
    for (const Instant at : measured) {
      if (row.first_at <= at && at <= row.last_at) last = std::max(last.value_or(at), at);
    }
    if (!last) continue;
    const auto referred = is_referred(ledger, row);
    if (!referred) return referred.error();
    if (*referred) ++activity.days[day_of(*last)].referrals;
  }
  return {};
}

Result<Activity> activity_of(Ledger& ledger, const House& house, ledger::Number instrument, DayNumber from,
                             int64_t most) {
  Activity activity;
  if (instrument == 0) return activity;
  const auto readings = ledger.last_readings_of(instrument, most);
  if (!readings) return readings.error();
  auto offset = clock_offset_of(ledger, house, instrument);
  if (!offset) return offset.error();
  activity.clock_offset = *offset;
  std::unordered_map<ledger::Number, std::vector<Instant>> by_subject;
  Instant earliest = Instant::max();
  for (const StoredReading& reading : *readings) {
    const Instant at = reading.reading.measured_at;
    earliest = std::min(earliest, at);
    if (!reading.live || reading.pair != 0 || day_of(at) < from) continue;
    Day& day = activity.days[day_of(at)];
    ++day.runs;
    if (reading.reading.finding == model::Finding::kVoid) ++day.voids;
    if (reading.subject != 0) by_subject[reading.subject].push_back(at);
  }
  activity.complete = static_cast<int64_t>(readings->size()) < most || day_of(earliest) < from;
  for (const auto& [subject, measured] : by_subject) {
    if (const auto done = add_referrals(ledger, subject, measured, activity); !done) return done.error();
  }
  return activity;
}

void write_members(base::JsonWriter& json, const Instrument& one, const Activity& activity) {
  json.member("serial", std::string_view(one.serial))
      .member_or_null("bench", one.bench)
      .member("configured", one.configured);
  time_member(json, "last_measured_at", one.last_measured_at);
  time_member(json, "last_came_at", one.last_came_at);
  json.key("clock_offset_s");
  if (activity.clock_offset) {
    char text[32];
    const long long millis = activity.clock_offset->count();
    std::snprintf(text, sizeof text, "%s%lld.%03lld", millis < 0 ? "-" : "", std::abs(millis) / 1000,
                  std::abs(millis) % 1000);
    json.raw(text);
  } else {
    json.null();
  }
}

void write_sums(base::JsonWriter& json, const Day& sum) {
  json.member("runs", sum.runs).member("voids", sum.voids).member("referrals", sum.referrals);
}

// Every day, those without a run too: a chart has no holes.
void write_days(base::JsonWriter& json, const Activity& activity, DayNumber from, DayNumber to) {
  json.key("days").begin_array();
  for (DayNumber number = from; number <= to; number += std::chrono::days(1)) {
    const auto at = activity.days.find(number);
    json.begin_object().member("day", std::string_view(base::format_rfc3339(number).substr(0, 10)));
    write_sums(json, at == activity.days.end() ? Day() : at->second);
    json.end_object();
  }
  json.end_array();
}

}  // namespace

Response list_instruments(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const auto all = all_of(teller.ledger(), call.house);
  if (!all) return problem(all.error());
  const DayNumber from = day_of(call.now) - std::chrono::days(kDaysListed - 1);
  const int64_t each = std::max(kFewest, kMostTogether / std::max<int64_t>(1, static_cast<int64_t>(all->size())));
  ListWriter list;
  for (const Instrument& one : *all) {
    const auto activity = activity_of(teller.ledger(), call.house, one.number, from, each);
    if (!activity) return problem(activity.error());
    list.item().begin_object();
    write_members(list.item(), one, *activity);
    write_sums(list.item(), activity->sum());
    list.item().member("complete", activity->complete).end_object();
  }
  return list.finish('i', std::nullopt);
}

Response show_instrument(const Call& call, Teller& teller) {
  constexpr int64_t kMostDays = 366;
  Query query(call.request, {"days"});
  const int64_t days = query.number("days", 1, kMostDays, kDaysListed);
  if (!query.is_right()) return problem(400, query.problem());
  const auto all = all_of(teller.ledger(), call.house);
  if (!all) return problem(all.error());
  const auto one =
      std::ranges::find(*all, call.parts[0], [](const Instrument& i) -> std::string_view { return i.serial; });
  if (one == all->end()) return no_such("instrument", call.parts[0], "/api/v1/instruments");
  const DayNumber to = day_of(call.now), from = to - std::chrono::days(days - 1);
  const auto activity = activity_of(teller.ledger(), call.house, one->number, from, kMostAlone);
  if (!activity) return problem(activity.error());
  Response response;
  base::JsonWriter json(response.body);
  json.begin_object();
  write_members(json, *one, *activity);
  write_sums(json, activity->sum());
  write_days(json, *activity, from, to);
  json.member("complete", activity->complete).end_object();
  return response;
}

}  // namespace girdle::api
