// What makes two records the same: every field but their place.
#include "model/content.h"

#include <gtest/gtest.h>

#include <functional>
#include <vector>

namespace girdle::model {
namespace {

using base::Decimal;

Reading full_reading() {
  Reading r;
  r.instrument = "A-0117";
  r.run = "12";
  r.measured_at = base::from_millis(1'793'000'000'000);
  r.stock_number = "R1042";
  r.position = "2";
  r.subject_kind = SubjectKind::kStone;
  r.finding = Finding::kNatural;
  r.diamond_type = DiamondType::kIa;
  r.confidence = Decimal::parse("0.91");
  r.carat = Decimal::parse("0.53");
  r.table_mm = Decimal::parse("2.9");
  r.length_mm = Decimal::parse("5.2");
  r.width_mm = Decimal::parse("5.1");
  r.depth_mm = Decimal::parse("3.2");
  r.temperature_c = Decimal::parse("21.5");
  r.humidity_pct = Decimal::parse("40");
  r.color = "G";
  r.shape = "round";
  r.operator_name = "op1";
  r.note = "n";
  r.extra = {{"tray", "4"}};
  r.place = {10, 20, 3};
  return r;
}

TEST(ContentNumber, ChangesWithEachFieldAlone) {
  const std::vector<std::function<void(Reading&)>> changes = {
      [](Reading& r) { r.instrument = "A-0118"; },
      [](Reading& r) { r.run = "13"; },
      [](Reading& r) { r.measured_at += base::Millis(1); },
      [](Reading& r) { r.stock_number = "R1043"; },
      [](Reading& r) { r.position.clear(); },
      [](Reading& r) { r.subject_kind.reset(); },
      [](Reading& r) { r.finding = Finding::kLaboratoryGrown; },
      [](Reading& r) { r.diamond_type = DiamondType::kIIa; },
      [](Reading& r) { r.confidence.reset(); },
      [](Reading& r) { r.carat = Decimal::parse("0.54"); },
      [](Reading& r) { r.table_mm.reset(); },
      [](Reading& r) { r.length_mm.reset(); },
      [](Reading& r) { r.width_mm.reset(); },
      [](Reading& r) { r.depth_mm.reset(); },
      [](Reading& r) { r.temperature_c.reset(); },
      [](Reading& r) { r.humidity_pct.reset(); },
      [](Reading& r) { r.color = "H"; },
      [](Reading& r) { r.shape.clear(); },
      [](Reading& r) { r.operator_name = "op2"; },
      [](Reading& r) { r.note.clear(); },
      [](Reading& r) { r.extra[0].second = "5"; },
      [](Reading& r) { r.extra[0].first = "trey"; },
      [](Reading& r) { r.extra.clear(); },
  };
  ContentNumbers numbers;
  const int64_t before = numbers.of(full_reading());
  for (size_t i = 0; i < changes.size(); ++i) {
    Reading changed = full_reading();
    changes[i](changed);
    EXPECT_NE(numbers.of(changed), before) << "change " << i;
  }
}

TEST(ContentNumber, DoesNotKnowWhereTheRecordStood) {
  ContentNumbers numbers;
  Reading moved = full_reading();
  moved.place = {700, 20, 9};
  EXPECT_EQ(numbers.of(moved), numbers.of(full_reading()));
}

// A mapping that gets a default must not make another measurement of an export that comes again.
TEST(ContentNumber, KnowsOnlyWhatTheRecordGave) {
  ContentNumbers numbers;
  Reading bare = full_reading();
  bare.color.clear();
  bare.carat.reset();
  bare.subject_kind.reset();
  bare.extra.clear();
  Reading filled = full_reading();
  filled.defaults = {"carat", "color", "subject_kind", "extra.tray"};
  EXPECT_EQ(numbers.of(filled), numbers.of(bare));
  filled.color = "K";
  EXPECT_EQ(numbers.of(filled), numbers.of(bare));
  EXPECT_NE(numbers.of(filled), numbers.of(full_reading()));
  EXPECT_EQ(without_defaults(filled), bare);
  EXPECT_TRUE(is_default(filled, "extra.tray"));
  EXPECT_FALSE(is_default(filled, "shape"));
}

TEST(Reading, NamesItsDefaultsInItsJson) {
  std::string json;
  Reading reading = full_reading();
  write_json(json, reading);
  EXPECT_EQ(json.find("defaults"), json.npos);
  json.clear();
  reading.defaults = {"operator", "extra.tray"};
  write_json(json, reading);
  EXPECT_NE(json.find(R"("extra":{"tray":"4"},"defaults":["operator","extra.tray"],"place")"),
            json.npos)
      << json;
}

// A text that moves from one field into the next is another record.
TEST(ContentNumber, TellsFieldsApart) {
  ContentNumbers numbers;
  Reading a = full_reading(), b = full_reading();
  a.color = "GH", a.shape = "";
  b.color = "G", b.shape = "H";
  EXPECT_NE(numbers.of(a), numbers.of(b));
  a.operator_name = "x", a.note = "", b.operator_name = "", b.note = "x";
  b.color = a.color, b.shape = a.shape;
  EXPECT_NE(numbers.of(a), numbers.of(b));
}

// 1.010 carat is 1.01 carat: another export may write it so.
TEST(ContentNumber, TakesADecimalByItsValue) {
  ContentNumbers numbers;
  Reading a = full_reading(), b = full_reading();
  a.carat = Decimal::parse("1.010");
  b.carat = Decimal::parse("1.01");
  EXPECT_EQ(numbers.of(a), numbers.of(b));
}

// Numbers stand in ledgers: the next version must give the same.
TEST(ContentNumber, IsTheFirstEightBytesOfTheSha256) {
  std::string bytes;
  append_content(bytes, full_reading());
  const base::Digest digest = base::sha256(bytes);
  uint64_t first = 0;
  for (size_t i = 8; i-- > 0;) first = first << 8 | digest[i];
  ContentNumbers numbers;
  EXPECT_EQ(static_cast<uint64_t>(numbers.of(full_reading())), first);
}

}  // namespace
}  // namespace girdle::model
