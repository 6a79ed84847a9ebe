#include "casework/same.h"

#include <algorithm>
#include <tuple>

namespace girdle::casework {
namespace {

using base::Decimal;
using base::Instant;
using base::Millis;
using model::Reading;

using DecimalField = std::optional<Decimal> Reading::*;
using TextField = std::string Reading::*;

constexpr DecimalField kDecimals[] = {&Reading::confidence, &Reading::carat,    &Reading::table_mm,
                                      &Reading::length_mm,  &Reading::width_mm, &Reading::depth_mm,
                                      &Reading::temperature_c, &Reading::humidity_pct};
constexpr TextField kTexts[] = {&Reading::run,   &Reading::stock_number,  &Reading::position, &Reading::color,
                                &Reading::shape, &Reading::operator_name, &Reading::note};

template <class T>
bool agree_where_given(const std::optional<T>& a, const std::optional<T>& b) {
  return !a || !b || *a == *b;
}

bool agree_where_given(const std::string& a, const std::string& b) { return a.empty() || b.empty() || a == b; }

bool extras_agree(const Reading& a, const Reading& b) {
  for (const auto& [name, value] : a.extra) {
    for (const auto& [other, other_value] : b.extra) {
      if (name == other && value != other_value) return false;
    }
  }
  return true;
}

Millis apart(Instant a, Instant b) { return a < b ? b - a : a - b; }

bool share_an_intake(const Known& a, const Known& b) {
  return std::ranges::any_of(a.intakes,
                             [&](int64_t intake) { return std::ranges::binary_search(b.intakes, intake); });
}

// Takes over what `both` lacks.
void complete(Reading& both, const Reading& b) {
  if (!both.subject_kind) both.subject_kind = b.subject_kind;
  if (!both.diamond_type) both.diamond_type = b.diamond_type;
  for (const auto field : kDecimals) {
    if (!(both.*field)) both.*field = b.*field;
  }
  for (const auto field : kTexts) {
    if ((both.*field).empty()) both.*field = b.*field;
  }
  for (const auto& extra : b.extra) {
    const bool known = std::any_of(both.extra.begin(), both.extra.end(),
                                   [&](const auto& own) { return own.first == extra.first; });
    if (!known) both.extra.push_back(extra);
  }
  std::sort(both.extra.begin(), both.extra.end());
}

}  // namespace

std::strong_ordering by_age(const Known& a, const Known& b) {
  return std::tuple(base::to_millis(a.reading.measured_at), base::to_millis(a.came_at), a.offset, a.content) <=>
         std::tuple(base::to_millis(b.reading.measured_at), base::to_millis(b.came_at), b.offset, b.content);
}

bool agree(const Reading& a, const Reading& b) {
  if (!a.defaults.empty() || !b.defaults.empty()) return agree(without_defaults(a), without_defaults(b));
  if (a.instrument != b.instrument || a.finding != b.finding) return false;
  if (!agree_where_given(a.subject_kind, b.subject_kind)) return false;
  if (!agree_where_given(a.diamond_type, b.diamond_type)) return false;
  for (const auto field : kDecimals) {
    if (!agree_where_given(a.*field, b.*field)) return false;
  }
  for (const auto field : kTexts) {
    if (!agree_where_given(a.*field, b.*field)) return false;
  }
  return extras_agree(a, b);
}

Reading joined(const Reading& a, const Reading& b) {
  Reading both = without_defaults(a);
  both.measured_at = std::min(a.measured_at, b.measured_at);
  complete(both, without_defaults(b));
  return both;
}

std::vector<Pair> pair_routes(std::span<const Known> records, Millis cycle) {
  struct Candidate {
    Millis distance;
    size_t first, second;
  };
  std::vector<size_t> by_time(records.size());
  for (size_t i = 0; i < by_time.size(); ++i) by_time[i] = i;
  const auto key = [&](size_t i) {
    return std::tuple(base::to_millis(records[i].reading.measured_at), records[i].content);
  };
  std::sort(by_time.begin(), by_time.end(), [&](size_t a, size_t b) { return key(a) < key(b); });

  std::vector<Candidate> candidates;
  for (size_t i = 0; i < by_time.size(); ++i) {
    const Known& a = records[by_time[i]];
    for (size_t j = i + 1; j < by_time.size(); ++j) {
      const Known& b = records[by_time[j]];
      const Millis distance = apart(a.reading.measured_at, b.reading.measured_at);
      if (distance >= cycle) break;
      if (!share_an_intake(a, b) && agree(a.reading, b.reading)) candidates.push_back({distance, by_time[i], by_time[j]});
    }
  }
  // Stable: equal distances keep the order of time and content.
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) { return a.distance < b.distance; });
  std::vector<Pair> pairs;
  std::vector<bool> taken(records.size());
  for (const Candidate& candidate : candidates) {
    if (taken[candidate.first] || taken[candidate.second]) continue;
    taken[candidate.first] = taken[candidate.second] = true;
    pairs.push_back({candidate.first, candidate.second});
  }
  return pairs;
}

std::optional<size_t> binding_scan(std::span<const model::Scan> scans, Instant measured_at, Millis fresh) {
  std::optional<size_t> last;
  bool ambiguous = false;
  for (size_t i = 0; i < scans.size(); ++i) {
    const model::Scan& scan = scans[i];
    if (scan.scanned_at > measured_at || measured_at - scan.scanned_at > fresh) continue;
    if (!last || scan.scanned_at > scans[*last].scanned_at) {
      last = i;
      ambiguous = false;
    } else if (scan.scanned_at == scans[*last].scanned_at) {
      ambiguous = ambiguous || std::tie(scan.stock_number, scan.position) !=
                                   std::tie(scans[*last].stock_number, scans[*last].position);
    }
  }
  return ambiguous ? std::nullopt : last;
}

std::vector<size_t> case_starts(std::span<const Instant> times, Millis reopen_after) {
  std::vector<size_t> starts;
  for (size_t i = 0; i < times.size(); ++i) {
    if (i == 0 || times[i] - times[i - 1] > reopen_after) starts.push_back(i);
  }
  return starts;
}

std::optional<size_t> claim_in_force(std::span<const Claim> claims, Instant last, Millis reopen_after) {
  std::optional<size_t> newest, oldest;
  const auto key = [&](size_t i) {
    return std::tuple(base::to_millis(claims[i].time), claims[i].list, claims[i].offset, claims[i].content);
  };
  for (size_t i = 0; i < claims.size(); ++i) {
    if (!oldest || key(i) < key(*oldest)) oldest = i;
    if (claims[i].time - last > reopen_after) continue;
    if (!newest || key(i) > key(*newest)) newest = i;
  }
  return newest ? newest : oldest;
}

}  // namespace girdle::casework
