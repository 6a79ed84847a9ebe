#include "api/openmetrics.h"

#include <cstdio>

#include "base/text.h"

namespace girdle::api::openmetrics {
namespace {

// One label after another, as they stand between braces.
void append_label(std::string& out, std::string_view name, std::string_view value) {
  if (!out.empty()) out += ',';
  out.append(name).append("=\"");
  append_escaped(out, value);
  out += '"';
}

std::string labels_of(const Family& family, Values values) {
  std::string labels;
  size_t place = 0;
  for (const std::string_view value : values) append_label(labels, family.labels.at(place++), value);
  return labels;
}

void append_sample(std::string& out, const Family& family, std::string_view suffix, std::string_view labels, const Number& value) {
  out.append(family.name).append(suffix);
  if (!labels.empty()) out.append("{").append(labels).append("}");
  out.append(" ").append(value.text()).append("\n");
}

void append_since(std::string& out, const Family& family, std::string_view labels, std::optional<base::Instant> since) {
  if (since) append_sample(out, family, "_created", labels, *since);
}

void append_bucket(std::string& out, const Family& family, std::string labels, std::string_view bound, uint64_t count) {
  append_label(labels, "le", bound);
  append_sample(out, family, "_bucket", labels, count);
}

// "The ordering SHOULD be TYPE, UNIT, HELP."
void append_description(std::string& out, const Family& family) {
  out.append("# TYPE ").append(family.name).append(" ").append(text(family.type)).append("\n");
  if (!family.unit.empty()) out.append("# UNIT ").append(family.name).append(" ").append(family.unit).append("\n");
  out.append("# HELP ").append(family.name).append(" ");
  append_escaped(out, family.help);
  out += '\n';
}

}  // namespace

std::string_view text(Type type) {
  switch (type) {
    case Type::kGauge: return "gauge";
    case Type::kCounter: return "counter";
    case Type::kHistogram: return "histogram";
    case Type::kStateSet: return "stateset";
    case Type::kInfo: return "info";
  }
  return {};
}

// "Floating point numbers MUST be represented either with a decimal point or using scientific notation."
Number::Number(std::chrono::microseconds value) {
  constexpr int64_t kSecond = 1'000'000;
  const bool minus = value.count() < 0;
  const uint64_t us = minus ? 0 - static_cast<uint64_t>(value.count()) : static_cast<uint64_t>(value.count());
  char digits[32];
  std::snprintf(digits, sizeof digits, "%s%llu.%06llu", minus ? "-" : "", static_cast<unsigned long long>(us / kSecond),
                static_cast<unsigned long long>(us % kSecond));
  text_ = digits;
  while (text_.ends_with('0') && !text_.ends_with(".0")) text_.pop_back();
}

Exposition::Exposition(std::span<const Family* const> families) : families_(families) {
  for (const Family* family : families) series_[family];
}

std::string* Exposition::lines_of(const Family& family, const std::string& labels) {
  const auto [place, fresh] = series_.at(&family).try_emplace(labels);
  return fresh ? &place->second : nullptr;
}

void Exposition::gauge(const Family& family, Values values, const Number& value) {
  const std::string labels = labels_of(family, values);
  if (std::string* lines = lines_of(family, labels)) append_sample(*lines, family, "", labels, value);
}

void Exposition::counter(const Family& family, Values values, uint64_t total, std::optional<base::Instant> since) {
  const std::string labels = labels_of(family, values);
  std::string* lines = lines_of(family, labels);
  if (lines == nullptr) return;
  append_sample(*lines, family, "_total", labels, total);
  append_since(*lines, family, labels, since);
}

void Exposition::histogram(const Family& family, Values values, const base::Histogram& histogram,
                           std::optional<base::Instant> since) {
  const std::string labels = labels_of(family, values);
  std::string* lines = lines_of(family, labels);
  if (lines == nullptr) return;
  uint64_t count = 0;
  size_t place = 0;
  for (const int64_t bound : histogram.bounds()) {
    count += histogram.bucket(place++);
    append_bucket(*lines, family, labels, Number(std::chrono::microseconds(bound)).text(), count);
  }
  count += histogram.bucket(place);
  append_bucket(*lines, family, labels, "+Inf", count);
  append_sample(*lines, family, "_count", labels, count);
  append_sample(*lines, family, "_sum", labels, std::chrono::microseconds(histogram.sum_us()));
  append_since(*lines, family, labels, since);
}

void Exposition::states(const Family& family, Values values, std::span<const std::string_view> states, std::string_view current) {
  const std::string labels = labels_of(family, values);
  std::string* lines = lines_of(family, labels);
  if (lines == nullptr) return;
  for (const std::string_view state : states) {
    std::string with_state = labels;
    append_label(with_state, family.name, state);
    append_sample(*lines, family, "", with_state, state == current);
  }
}

void Exposition::info(const Family& family, Values values) {
  const std::string labels = labels_of(family, values);
  if (std::string* lines = lines_of(family, labels)) append_sample(*lines, family, "_info", labels, true);
}

std::string Exposition::text() const {
  std::string out;
  for (const Family* family : families_) {
    append_description(out, *family);
    for (const auto& [labels, lines] : series_.at(family)) out += lines;
  }
  out += "# EOF\n";
  return out;
}

void append_escaped(std::string& out, std::string_view text) {
  const bool utf8 = base::is_utf8(text);
  for (const char c : text) {
    switch (c) {
      case '\n': out += "\\n"; break;
      case '"': out += "\\\""; break;
      case '\\': out += "\\\\"; break;
      default:
        if (utf8 || static_cast<unsigned char>(c) < 0x80) {
          out += c;
        } else {
          out += "\xEF\xBF\xBD";
        }
    }
  }
}

}  // namespace girdle::api::openmetrics
