// What the writer makes of names, numbers and repetitions. Section names are those of OpenMetrics 1.0
// (draft-richih-opsawg-openmetrics-00).
#include "api/openmetrics.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace girdle::api::openmetrics {
namespace {

using std::chrono::microseconds;
using std::chrono::milliseconds;
using testing::EndsWith;
using testing::HasSubstr;

std::string escaped(std::string_view text) {
  std::string out;
  append_escaped(out, text);
  return out;
}

constexpr Family kDepth{Type::kGauge, "x_depth", "", {"place", "side"}, "How deep."};
constexpr Family kSeen{Type::kCounter, "x_seen", "", {"place"}, "How many."};
constexpr Family kTook{Type::kHistogram, "x_took_seconds", "seconds", {}, "How long."};
constexpr Family kStand{Type::kStateSet, "x_stand", "", {"place"}, "How it stands."};
constexpr Family kWhat{Type::kInfo, "x_what", "", {"version"}, "What it is."};
constexpr const Family* kFamilies[] = {&kDepth, &kSeen, &kTook, &kStand, &kWhat};

std::string gauge_line(const Number& value) {
  Exposition out(kFamilies);
  out.gauge(kDepth, {"a", "b"}, value);
  const std::string text = out.text();
  const size_t begin = text.find("x_depth{");
  return text.substr(begin, text.find('\n', begin) - begin);
}

// "Escaping".
TEST(OpenMetrics, EscapesLineFeedsQuotesAndBackslashes) {
  EXPECT_EQ(escaped("a\nb"), "a\\nb");
  EXPECT_EQ(escaped("say \"hm\""), "say \\\"hm\\\"");
  EXPECT_EQ(escaped("c:\\new"), "c:\\\\new");
  EXPECT_EQ(escaped("\\\n\""), "\\\\\\n\\\"");
}

// "Strings MUST only consist of valid UTF-8 characters" (Strings); byte 0 is one, and so is CR (ABNF, normal-char).
TEST(OpenMetrics, LeavesOtherTextAsItIs) {
  using namespace std::string_view_literals;
  EXPECT_EQ(escaped("Köln, 東京 {le=1} #"), "Köln, 東京 {le=1} #");
  EXPECT_EQ(escaped("a\0b\r\t"sv), "a\0b\r\t"sv);
}

TEST(OpenMetrics, MakesTextOfWhatIsNone) {
  EXPECT_EQ(escaped("a\xff\"\xc3"), "a\xEF\xBF\xBD\\\"\xEF\xBF\xBD");
  EXPECT_EQ(escaped("\xed\xa0\x80"), "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");  // a surrogate
}

// "Numbers".
TEST(OpenMetrics, WritesSecondsWithAPointAndExactly) {
  EXPECT_EQ(Number(microseconds(0)).text(), "0.0");
  EXPECT_EQ(Number(microseconds(1)).text(), "0.000001");
  EXPECT_EQ(Number(microseconds(-1)).text(), "-0.000001");
  EXPECT_EQ(Number(microseconds(-1'500'000)).text(), "-1.5");
  EXPECT_EQ(Number(microseconds(120'000'000)).text(), "120.0");
  EXPECT_EQ(Number(milliseconds(1'520'430'000'123)).text(), "1520430000.123");
  EXPECT_EQ(Number(microseconds::max()).text(), "9223372036854.775807");
  EXPECT_EQ(Number(microseconds::min()).text(), "-9223372036854.775808");
  EXPECT_EQ(Number(base::from_millis(1'793'577'600'000)).text(), "1793577600.0");
}

TEST(OpenMetrics, WritesCountsWithoutAPoint) {
  EXPECT_EQ(gauge_line(uint64_t{18'446'744'073'709'551'615u}), "x_depth{place=\"a\",side=\"b\"} 18446744073709551615");
  EXPECT_EQ(gauge_line(int64_t{-3}), "x_depth{place=\"a\",side=\"b\"} -3");
  EXPECT_EQ(gauge_line(true), "x_depth{place=\"a\",side=\"b\"} 1");
  EXPECT_EQ(gauge_line(false), "x_depth{place=\"a\",side=\"b\"} 0");
}

// "MetricFamily metadata": the order is TYPE, UNIT, HELP. A family without metrics is one ("Gauge", the third example).
TEST(OpenMetrics, DescribesFamiliesWithoutASeriesToo) {
  const Exposition out(kFamilies);
  EXPECT_EQ(out.text(),
            "# TYPE x_depth gauge\n# HELP x_depth How deep.\n"
            "# TYPE x_seen counter\n# HELP x_seen How many.\n"
            "# TYPE x_took_seconds histogram\n# UNIT x_took_seconds seconds\n# HELP x_took_seconds How long.\n"
            "# TYPE x_stand stateset\n# HELP x_stand How it stands.\n"
            "# TYPE x_what info\n# HELP x_what What it is.\n"
            "# EOF\n");
}

// "MetricFamilies MUST NOT be interleaved", nor metrics; whoever asks may tell them in any order.
TEST(OpenMetrics, KeepsFamiliesAndSeriesTogether) {
  Exposition out(kFamilies);
  out.counter(kSeen, {"b"}, 2, base::from_millis(1500));
  out.gauge(kDepth, {"b", "x"}, uint64_t{1});
  out.counter(kSeen, {"a"}, 1, base::from_millis(2500));
  out.gauge(kDepth, {"a", "x"}, uint64_t{1});
  EXPECT_THAT(out.text(), HasSubstr("# HELP x_depth How deep.\nx_depth{place=\"a\",side=\"x\"} 1\nx_depth{place=\"b\",side=\"x\"} 1\n#"));
  EXPECT_THAT(out.text(), HasSubstr("x_seen_total{place=\"a\"} 1\nx_seen_created{place=\"a\"} 2.5\n"
                                    "x_seen_total{place=\"b\"} 2\nx_seen_created{place=\"b\"} 1.5\n#"));
}

// "Every Metric within a MetricFamily MUST have a unique LabelSet" (MetricFamily).
TEST(OpenMetrics, ASeriesThatIsSetTwiceKeepsItsFirstValue) {
  Exposition out(kFamilies);
  for (const uint64_t value : {7u, 8u}) {
    out.gauge(kDepth, {"a", "x"}, value);
    out.counter(kSeen, {"a"}, value, std::nullopt);
    out.info(kWhat, {"1"});
  }
  // Both are no UTF-8, and one name as text.
  out.gauge(kDepth, {"\xfe", "x"}, uint64_t{1});
  out.gauge(kDepth, {"\xff", "x"}, uint64_t{2});
  const std::string text = out.text();
  EXPECT_THAT(text, HasSubstr("x_depth{place=\"a\",side=\"x\"} 7\nx_depth{place=\"\xEF\xBF\xBD\",side=\"x\"} 1\n#"));
  EXPECT_THAT(text, HasSubstr("x_seen_total{place=\"a\"} 7\n#"));
  EXPECT_THAT(text, HasSubstr("x_what_info{version=\"1\"} 1\n# EOF"));
}

// "Histogram": buckets are cumulative, +Inf counts all and is _count. "Canonical Numbers": the renderings of `le`.
TEST(OpenMetrics, AHistogramsBucketsAddUp) {
  constexpr std::array<int64_t, 4> bounds = {100, 1'000, 1'000'000, 604'800'000'000};
  base::Histogram histogram(bounds);
  for (const int64_t us : {50, 100, 500, 2'000'000}) histogram.add(microseconds(us));
  histogram.add(microseconds(700'000'000'000));
  Exposition out(kFamilies);
  out.histogram(kTook, {}, histogram, base::from_millis(1'520'430'000'123));
  EXPECT_THAT(out.text(), HasSubstr("x_took_seconds_bucket{le=\"0.0001\"} 2\n"
                                    "x_took_seconds_bucket{le=\"0.001\"} 3\n"
                                    "x_took_seconds_bucket{le=\"1.0\"} 3\n"
                                    "x_took_seconds_bucket{le=\"604800.0\"} 4\n"
                                    "x_took_seconds_bucket{le=\"+Inf\"} 5\n"
                                    "x_took_seconds_count 5\n"
                                    "x_took_seconds_sum 700002.00065\n"
                                    "x_took_seconds_created 1520430000.123\n#"));
}

// "StateSet": one sample a state, the state's label has the family's name.
TEST(OpenMetrics, AStateSetHasEveryStateAndOneIsTrue) {
  constexpr std::array<std::string_view, 3> words = {"open", "paused", "closed"};
  Exposition out(kFamilies);
  out.states(kStand, {"a"}, words, "paused");
  EXPECT_THAT(out.text(), HasSubstr("x_stand{place=\"a\",x_stand=\"open\"} 0\n"
                                    "x_stand{place=\"a\",x_stand=\"paused\"} 1\n"
                                    "x_stand{place=\"a\",x_stand=\"closed\"} 0\n#"));
}

TEST(OpenMetrics, EndsAsItMust) { EXPECT_THAT(Exposition(kFamilies).text(), EndsWith("\n# EOF\n")); }

}  // namespace
}  // namespace girdle::api::openmetrics
