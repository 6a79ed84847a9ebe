#include "api/metrics.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <set>

#include "api/instrument_clock.h"
#include "api/metric_families.h"
#include "api/metrics_sample.h"
#include "ledger/raw.h"
#include "service/temp_ledger.h"

namespace girdle::api {
namespace {

using std::chrono::hours;
using std::chrono::milliseconds;
using std::chrono::seconds;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class Metrics : public testing::Test {
 protected:
  std::string text() const { return sample_.text(); }
  // The value of the series, as it is written; empty where there is none.
  std::string value(const std::string& series) const {
    const std::string all = "\n" + text();
    const size_t at = all.find("\n" + series + " ");
    if (at == std::string::npos) return {};
    const size_t begin = at + 1 + series.size() + 1;
    return all.substr(begin, all.find('\n', begin) - begin);
  }

  TempFolder folder_;
  MetricsSample sample_{folder_.path()};
};

TEST_F(Metrics, HaveTheContentTypeOfTheFormat) {
  const Response response = metrics(sample_.house, sample_.standing, sample_.meters, *sample_.teller, sample_.now);
  EXPECT_EQ(response.status, 200);
  EXPECT_EQ(response.content_type, "application/openmetrics-text; version=1.0.0; charset=utf-8");
}

TEST_F(Metrics, TellWhatCame) {
  EXPECT_EQ(value("girdle_readings_total"), "32");
  EXPECT_EQ(value("girdle_readings_created"), "1793602800.0");  // 2026-11-02T07:00:00Z, by date(1)
  EXPECT_EQ(value("girdle_duplicates_total"), "4");
  EXPECT_EQ(value("girdle_corrections_total"), "1");
  EXPECT_EQ(value("girdle_voids_total"), "2");
  EXPECT_EQ(value("girdle_asides_total"), "3");
  EXPECT_EQ(value("girdle_outcomes_total{disposition=\"repeat\"}"), "0");
  EXPECT_EQ(value("girdle_outcomes_total{disposition=\"reject\"}"), "40");
  EXPECT_EQ(value("girdle_outcomes_by_hand_total"), "1");
}

TEST_F(Metrics, CountInstrumentsThatNobodyConfiguredUnderOneName) {
  EXPECT_EQ(value("girdle_instrument_readings_total{instrument=\"A-0117\"}"), "29");
  EXPECT_EQ(value("girdle_instrument_readings_total{instrument=\"C-0001\"}"), "0");
  EXPECT_EQ(value("girdle_instrument_readings_total{instrument=\"(not configured)\"}"), "3");
  EXPECT_THAT(text(), Not(HasSubstr("invented")));
}

TEST_F(Metrics, KeepWhatAnInstrumentHadWhenTheConfigurationIsReadAnew) {
  InstrumentMeters::One& before = sample_.meters.instruments.of("A-0117");
  sample_.meters.instruments.adopt({"B-0042", "A-0117"});
  EXPECT_EQ(&sample_.meters.instruments.of("A-0117"), &before);
  sample_.meters.instruments.adopt({"B-0042"});
  ++sample_.meters.instruments.of("A-0117").readings;
  EXPECT_EQ(value("girdle_instrument_readings_total{instrument=\"A-0117\"}"), "29");
  EXPECT_EQ(value("girdle_instrument_readings_total{instrument=\"(not configured)\"}"), "4");
}

TEST_F(Metrics, TellHowIntakesStand) {
  EXPECT_EQ(value("girdle_intake_up{intake=\"counter-1\"}"), "1");
  EXPECT_EQ(value("girdle_intake_up{intake=\"exports\"}"), "0");
  EXPECT_EQ(value("girdle_intake_troubled{intake=\"exports\"}"), "1");
  EXPECT_EQ(value("girdle_intake_bytes_total{intake=\"counter-1\"}"), "7000000000");
  EXPECT_EQ(value("girdle_intake_last_document_age_seconds{intake=\"counter-1\"}"), "47.75");
  EXPECT_EQ(value("girdle_intake_last_document_age_seconds{intake=\"exports\"}"), "");
  EXPECT_THAT(text(), Not(HasSubstr("the folder is not there"))) << "what a device or a file is called is nobody's label";
}

TEST_F(Metrics, TellHowOutletsStand) {
  EXPECT_EQ(value("girdle_outlet_state{outlet=\"till\",girdle_outlet_state=\"resting\"}"), "1");
  EXPECT_EQ(value("girdle_outlet_state{outlet=\"till\",girdle_outlet_state=\"open\"}"), "0");
  EXPECT_EQ(value("girdle_outlet_deliveries{outlet=\"till\",state=\"waiting\"}"), "2");
  EXPECT_EQ(value("girdle_outlet_deliveries{outlet=\"till\",state=\"parked\"}"), "1");
  EXPECT_EQ(value("girdle_outlet_oldest_waiting_age_seconds{outlet=\"till\"}"), "1800.0");
  EXPECT_EQ(value("girdle_outlet_sent_deliveries_total{outlet=\"till\"}"), "7");
  EXPECT_EQ(value("girdle_outlet_attempt_seconds_count{outlet=\"till\"}"), "3");
  EXPECT_EQ(value("girdle_outlet_outcome_to_sent_seconds_bucket{outlet=\"till\",le=\"86400.0\"}"), "0");
  EXPECT_EQ(value("girdle_outlet_outcome_to_sent_seconds_bucket{outlet=\"till\",le=\"604800.0\"}"), "1");
}

TEST_F(Metrics, TellOfAnOutletThatNothingWasEverAddressedTo) {
  const std::string outlet = "{outlet=\"a \\\"till\\\" \\\\ and\\nmore\"";
  EXPECT_EQ(value("girdle_outlet_deliveries" + outlet + ",state=\"waiting\"}"), "0");
  EXPECT_EQ(value("girdle_outlet_oldest_waiting_age_seconds" + outlet + "}"), "0.0");
  EXPECT_EQ(value("girdle_outlet_state" + outlet + ",girdle_outlet_state=\"paused\"}"), "1");
}

TEST_F(Metrics, TellHowFarAClockIsOff) {
  // 30 readings, the smallest difference of the last 20 at run 25.
  EXPECT_EQ(value("girdle_instrument_clock_offset_seconds{instrument=\"A-0117\"}"), "-1.5");
  EXPECT_EQ(value("girdle_instrument_last_reading_age_seconds{instrument=\"A-0117\"}"), "3570.0");
  // Its later reading came in a file, whose time is no clock.
  EXPECT_EQ(value("girdle_instrument_clock_offset_seconds{instrument=\"B-0042\"}"), "90.0");
  EXPECT_EQ(value("girdle_instrument_clock_offset_seconds{instrument=\"C-0001\"}"), "");
  EXPECT_EQ(value("girdle_instrument_last_reading_age_seconds{instrument=\"C-0001\"}"), "");
}

TEST_F(Metrics, AClockThatWasSetBackMakesNothingYoungerThanNow) {
  sample_.now -= hours(3);
  EXPECT_EQ(value("girdle_intake_last_document_age_seconds{intake=\"counter-1\"}"), "0.0");
  EXPECT_EQ(value("girdle_outlet_oldest_waiting_age_seconds{outlet=\"till\"}"), "0.0");
}

TEST_F(Metrics, SayNothingOfWhatNobodyKnows) {
  sample_.meters.started = {};
  sample_.server.reset();
  const std::string all = text();
  EXPECT_THAT(all, AllOf(HasSubstr("girdle_readings_total 32\n"), Not(HasSubstr("girdle_readings_created")),
                         Not(HasSubstr("\ngirdle_start_time_seconds ")), Not(HasSubstr("\ngirdle_api_connections "))));
}

TEST_F(Metrics, TellTheRestWhereTheLedgerCannotBeRead) {
  EXPECT_EQ(value("girdle_ledger_readable"), "1");
  ledger::execute(folder_.path() / "ledger.db", "ALTER TABLE outlet RENAME TO lost; ALTER TABLE outlet_total RENAME TO lost_too");
  EXPECT_EQ(value("girdle_ledger_readable"), "0");
  EXPECT_EQ(value("girdle_readings_total"), "32");
  EXPECT_EQ(value("girdle_outlet_deliveries{outlet=\"till\",state=\"waiting\"}"), "");
  EXPECT_THAT(ready(sample_.house, sample_.standing, *sample_.teller).body, HasSubstr("\"ledger\":\"unreadable\""));
}

// The bounds are of the format's "Canonical Numbers" as they are written here: none below 0.0001, none from 1e+06 on.
TEST_F(Metrics, HaveBoundsThatAreCanonicalNumbers) {
  for (const auto& bounds : {std::span<const int64_t>(base::Histogram::kBounds), std::span<const int64_t>(base::Histogram::kLongBounds)}) {
    EXPECT_GE(bounds.front(), 100);
    EXPECT_LT(bounds.back(), 1'000'000'000'000);
  }
}

std::string page() {
  std::string page = "| name | type | unit | labels | what |\n|---|---|---|---|---|\n";
  for (const auto* family : families::kAll) {
    std::string labels;
    for (const std::string_view label : family->labels) {
      if (!label.empty()) labels += (labels.empty() ? "`" : ", `") + std::string(label) + "`";
    }
    page += "| `" + std::string(family->name) + "` | " + std::string(text(family->type)) + " | " + std::string(family->unit) + " | " +
            labels + " | " + std::string(family->help) + " |\n";
  }
  return page;
}

TEST(MetricFamilies, StandInTheManualAsTheyAre) {
  std::ifstream file(GIRDLE_SOURCE_DIR "/daemon/api/README.md");
  const std::string manual((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  EXPECT_NE(manual.find(page()), std::string::npos) << "daemon/api/README.md should have\n" << page();
}

TEST(MetricFamilies, AreEachInTheListOnce) {
  std::set<std::string_view> names;
  for (const auto* family : families::kAll) EXPECT_TRUE(names.insert(family->name).second) << family->name;
  EXPECT_EQ(names.size(), 43u);
}

class ClockOffset : public Metrics {
 protected:
  // The latest first; each came `late` after its measurement, through that intake.
  std::optional<base::Millis> offset(const std::vector<std::pair<std::string, base::Millis>>& latest) {
    std::vector<ledger::StoredReading> readings;
    for (const auto& [intake, late] : latest) {
      ledger::StoredReading& stored = readings.emplace_back();
      stored.intake = sample_.ledger->find_intake(intake).value_or(0);
      stored.came_at = sample_.now;
      stored.reading.measured_at = sample_.now - late;
    }
    return clock_offset(*sample_.ledger, sample_.house, readings);
  }
};

TEST_F(ClockOffset, IsTheSmallestOfTheLastTwenty) {
  std::vector<std::pair<std::string, base::Millis>> latest(20, {"counter-1", seconds(5)});
  latest[19].second = seconds(-2);
  EXPECT_EQ(offset(latest), seconds(-2));
  latest.insert(latest.begin(), {"counter-1", seconds(9)});
  EXPECT_EQ(offset(latest), seconds(5));
}

TEST_F(ClockOffset, DoesNotGoByFilesNorByIntakesThatAreGone) {
  EXPECT_EQ(offset({}), std::nullopt);
  EXPECT_EQ(offset({{"exports", seconds(1)}}), std::nullopt);
  EXPECT_EQ(offset({{"exports", seconds(1)}, {"nowhere", seconds(2)}, {"counter-1", seconds(3)}}), seconds(3));
}

class Health : public Metrics {
 protected:
  Health() {
    for (IntakeState& intake : sample_.standing.intakes) intake.up = true, intake.trouble.clear();
    for (OutletState& outlet : sample_.standing.outlets) outlet.resting = outlet.closed = false;
    // Of the till one delivery is parked.
    sample_.house.outlets = {{"quiet", "webhook"}};
    sample_.standing.outlets = {OutletState{.name = "quiet"}};
  }
  // "200 ok", and so on.
  std::string health() {
    const Response response = ready(sample_.house, sample_.standing, *sample_.teller);
    const std::string word = response.body.substr(11, response.body.find('"', 11) - 11);
    return std::to_string(response.status) + " " + word;
  }
};

TEST_F(Health, IsOkWhereAllIsWell) {
  EXPECT_EQ(health(), "200 ok");
  EXPECT_EQ(live().status, 200);
  EXPECT_EQ(live().body, R"({"status":"ok"})");
}

TEST_F(Health, NamesWhatStandsHow) {
  EXPECT_EQ(ready(sample_.house, sample_.standing, *sample_.teller).body,
            R"({"status":"ok","ledger":"writable","intakes":[{"name":"counter-1","up":true,"troubled":false},)"
            R"({"name":"exports","up":true,"troubled":false}],"outlets":[{"name":"quiet","state":"open","parked":0}]})");
}

// It waits for a person, and nobody else would say so.
TEST_F(Health, IsDegradedWhereADeliveryIsParked) {
  sample_.house.outlets = {{"till", "webhook"}};
  sample_.standing.outlets = {OutletState{.name = "till"}};
  EXPECT_EQ(health(), "200 degraded");
}

TEST_F(Health, IsDegradedWhereAnOutletDoesNotTakeOrAnIntakeHasTrouble) {
  sample_.standing.outlets[0].resting = true;
  EXPECT_EQ(health(), "200 degraded");
  sample_.standing.outlets[0].resting = false;
  sample_.standing.outlets[0].closed = true;
  EXPECT_EQ(health(), "200 degraded");
  sample_.standing.outlets[0].closed = false;
  sample_.standing.intakes[1].trouble = "/secret/place: permission denied";
  EXPECT_EQ(health(), "200 degraded");
  EXPECT_THAT(ready(sample_.house, sample_.standing, *sample_.teller).body, Not(HasSubstr("secret")));
}

TEST_F(Health, IsAsAPersonWantsItWhereAnOutletIsPaused) {
  sample_.standing.outlets[0].paused = true;
  EXPECT_EQ(health(), "200 ok");
}

TEST_F(Health, FailsWhereTheLedgerTakesNothing) {
  sample_.standing.writer.refused = true;
  EXPECT_EQ(health(), "503 failing");
}

TEST_F(Health, FailsWhereAnIntakeIsDownOrNotHeardOf) {
  sample_.standing.outlets[0].closed = true;
  sample_.standing.intakes[0].up = false;
  EXPECT_EQ(health(), "503 failing");
  sample_.standing.intakes.erase(sample_.standing.intakes.begin());
  EXPECT_EQ(health(), "503 failing");
}

}  // namespace
}  // namespace girdle::api
