// How long things took, counted by size, and the watch that measures it.
#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <span>

namespace girdle::base {

// Counts by upper bounds, in microseconds. Atomics: one thread adds, any number read, and nobody waits. Who reads while
// something is added may find it counted in its bucket and not yet in the sum.
class Histogram {
 public:
  // 100 µs to 100 s, about 1-2.5-5 a decade: what one disk, one receiver, one request takes.
  static constexpr std::array<int64_t, 19> kBounds = {100,       250,        500,        1'000,      2'500,      5'000,     10'000,
                                                      25'000,    50'000,     100'000,    250'000,    500'000,    1'000'000, 2'500'000,
                                                      5'000'000, 10'000'000, 25'000'000, 50'000'000, 100'000'000};
  // 1 ms to a week: what may have waited for a person.
  static constexpr std::array<int64_t, 16> kLongBounds = {1'000,         5'000,          10'000,         50'000,
                                                          100'000,       500'000,        1'000'000,      5'000'000,
                                                          15'000'000,    60'000'000,     300'000'000,    900'000'000,
                                                          3'600'000'000, 21'600'000'000, 86'400'000'000, 604'800'000'000};
  static constexpr size_t kMostBounds = kBounds.size();

  // `bounds`: at most kMostBounds of them, ascending, for ever.
  explicit constexpr Histogram(std::span<const int64_t> bounds = kBounds) : bounds_(bounds) {}

  // What took less than nothing (a clock that was set) took no time.
  void add(std::chrono::microseconds took);

  std::span<const int64_t> bounds() const { return bounds_; }
  // Of each bucket alone: above the bound before it, up to its own. The last, at bounds().size(), is above all bounds.
  uint64_t bucket(size_t i) const { return buckets_[i].load(std::memory_order_relaxed); }
  uint64_t sum_us() const { return sum_us_.load(std::memory_order_relaxed); }

 private:
  std::span<const int64_t> bounds_;
  std::array<std::atomic<uint64_t>, kMostBounds + 1> buckets_{};
  std::atomic<uint64_t> sum_us_{0};
};

// For histograms only: nothing is decided by what it says, so it need not be a test's to move, and it is finer than a
// Clock.
class Stopwatch {
 public:
  std::chrono::microseconds took() const {
    return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - begin_);
  }

 private:
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
};

}  // namespace girdle::base
