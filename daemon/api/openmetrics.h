// Writes the text format of OpenMetrics 1.0 (draft-richih-opsawg-openmetrics-00).
//
// What may go wrong in that format cannot be said here. A family is described once, as data; a series is named by the
// values of its family's labels, in their order, so that all series of a family have the same labels; a series that is
// set twice keeps what it was set to first. Families come out in the order of their list, each whole, and those without a
// series too.
#pragma once

#include <array>
#include <cstdint>
#include <initializer_list>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/clock.h"
#include "base/histogram.h"

namespace girdle::api::openmetrics {

inline constexpr std::string_view kContentType = "application/openmetrics-text; version=1.0.0; charset=utf-8";

enum class Type : uint8_t { kGauge, kCounter, kHistogram, kStateSet, kInfo };
std::string_view text(Type type);

// All texts live for ever.
struct Family {
  Type type = Type::kGauge;
  std::string_view name;  // with its unit, and without what its type appends (_total, _bucket, …)
  std::string_view unit;  // "seconds", "bytes"; empty = none
  std::array<std::string_view, 2> labels;  // empty = none
  std::string_view help;
};

// A number as the format has it. Times are in seconds, exact: no float is made of any.
class Number {
 public:
  Number(uint64_t value) : text_(std::to_string(value)) {}         // NOLINT: values become numbers by themselves
  Number(int64_t value) : text_(std::to_string(value)) {}          // NOLINT
  Number(bool value) : text_(value ? "1" : "0") {}                 // NOLINT
  Number(std::chrono::microseconds value);                         // NOLINT
  Number(base::Instant value) : Number(std::chrono::microseconds(value.time_since_epoch())) {}  // NOLINT
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

// The values of a family's labels.
using Values = std::initializer_list<std::string_view>;

class Exposition {
 public:
  // `families` live as long as this; what is set is of one of them, and of its type.
  explicit Exposition(std::span<const Family* const> families);

  void gauge(const Family& family, Values values, const Number& value);
  // `since`: it counts from then; nothing = not known.
  void counter(const Family& family, Values values, uint64_t total, std::optional<base::Instant> since);
  // Bounds from 100 µs to below 1,000,000 s: those are canonical numbers as they are written here.
  void histogram(const Family& family, Values values, const base::Histogram& histogram, std::optional<base::Instant> since);
  // All of `states`; `current` is one of them.
  void states(const Family& family, Values values, std::span<const std::string_view> states, std::string_view current);
  void info(const Family& family, Values values);

  std::string text() const;

 private:
  // The place for a series' lines; null where it has some.
  std::string* lines_of(const Family& family, const std::string& labels);

  using SeriesByLabels = std::map<std::string, std::string>;  // the lines of each
  std::span<const Family* const> families_;
  std::map<const Family*, SeriesByLabels> series_;
};

// Appends a text with what the format escapes escaped. Where it is not UTF-8, U+FFFD is in the place of what is not ASCII.
void append_escaped(std::string& out, std::string_view text);

}  // namespace girdle::api::openmetrics
