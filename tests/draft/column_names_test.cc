// Which names mean which field is from memory, in the code as here; no source.
#include "draft/column_names.h"

#include <gmock/gmock.h>

namespace girdle::draft {
namespace {

std::string_view best(std::string_view name) {
  const auto meanings = meanings_of(name);
  return meanings.empty() ? std::string_view("nothing") : meanings.front().field;
}

TEST(ColumnNames, MeanAFieldInWhicheverWayTheyAreWritten) {
  for (const char* name : {"StockNo", "stock_no", "Stock no.", "STOCK-NO", "stock no"}) {
    EXPECT_EQ(best(name), "stock_number") << name;
  }
}

TEST(ColumnNames, AreKnownInSeveralLanguages) {
  EXPECT_EQ(best("Ergebnis"), "finding");
  EXPECT_EQ(best("Résultat"), "finding");
  EXPECT_EQ(best("RÉSULTAT"), "finding");
  EXPECT_EQ(best("Результат"), "finding");
  EXPECT_EQ(best("РЕЗУЛЬТАТ"), "finding");
  EXPECT_EQ(best("结果"), "finding");
}

TEST(ColumnNames, SayNothingWhereTheyAreNotKnown) { EXPECT_EQ(best("zip"), "nothing"); }

TEST(ColumnNames, OfNestedFieldsSpeakByTheirLastPart) {
  EXPECT_EQ(best("/sample/carat"), "carat");
  EXPECT_EQ(best("../device/@serial"), "instrument");
}

TEST(ColumnNames, SayTheUnitInWhicheverWayItIsWritten) {
  EXPECT_EQ(unit_in("Weight (mg)", "carat"), "mg");
  EXPECT_EQ(unit_in("weight_g", "carat"), "g");
  EXPECT_EQ(unit_in("ct", "carat"), "ct");
  EXPECT_EQ(unit_in("Temp [°F]", "temperature_c"), "F");
  EXPECT_EQ(unit_in("Table µm", "table_mm"), "um");
  EXPECT_EQ(unit_in("RH %", "humidity_pct"), "percent");
  EXPECT_EQ(unit_in("weight", "carat"), "");
}

TEST(ColumnNames, MeanTheSameFieldWithTheirUnit) {
  EXPECT_EQ(best("Weight (mg)"), "carat");
  EXPECT_EQ(best("temp_f"), "temperature_c");
}

}  // namespace
}  // namespace girdle::draft
