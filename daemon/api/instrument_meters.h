// What came from each instrument since the service started.
#pragma once

#include <atomic>
#include <deque>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::api {

// Has an entry for each instrument that was configured since the start, and one for all others: whoever writes a file
// may invent a million serial numbers, and nothing here must grow by that. Thread-safe.
class InstrumentMeters {
 public:
  static constexpr std::string_view kOthers = "(not configured)";

  struct One {
    explicit One(std::string_view name) : serial(name) {}
    const std::string serial;
    std::atomic<uint64_t> readings{0}, voids{0};
  };

  InstrumentMeters() { all_.emplace_back(kOthers); }

  // The instruments of the configuration, now and after it was read anew. What was counted stays.
  void adopt(const std::vector<std::string>& serials);
  // Where a reading of that instrument counts; lives as long as this. Takes a lock: ask once for a row of readings.
  One& of(std::string_view serial);
  // The others first, then those that were ever configured, in that order.
  void each(const std::function<void(const One&)>& one) const;

 private:
  mutable std::mutex mutex_;
  std::deque<One> all_;  // an address stays what it is
  std::map<std::string, One*, std::less<>> configured_;
};

}  // namespace girdle::api
