// Same facts, same answer, on every machine: what is read, decided and written does not depend on
// the locale.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/json.h"
#include "policy/default_policy.h"
#include "policy/dmn_import.h"
#include "policy/locales.h"
#include "policy/proof.h"
#include "policy/table_builder.h"

namespace girdle::policy {
namespace {

using base::Decimal;

// RFC 8259, 6: the decimal mark of a JSON number is the point.
TEST(Locale, DoesNotChangeWhatNumbersSay) {
  const auto numbers = [] {
    std::string all;
    for (const char* text :
         {"0.53", "1234567.891", "-0.000001", "1.2e-3", ".5", "5.", "1,5", "1.234,5", "1.234.567",
          "1 234", "1e400", "\xD9\xA1", "9999999999999999999999999999999999"}) {
      const auto number = Decimal::parse(text);
      all += std::string(text) + " = " +
             (number ? number->text() + ", " + to_json(Value(*number)) : "none") + "\n";
    }
    const Decimal third = *divide(Decimal(1), Decimal(3));
    all += third.text() + " " + third.rounded(2).text() + " " +
           multiply(*Decimal::parse("1.005"), Decimal(1000))->text() + " " +
           Decimal(1234567).text() + " " + std::to_string(*third.scaled_integer(3) == 333) + "\n";
    // Its eight bytes, not its text.
    all += std::to_string(Decimal::parse("1234.5")->approximate() == 1234.5) + "\n";
    return all;
  };
  EXPECT_THAT(numbers(), testing::HasSubstr("1234567.891 = 1234567.891, 1234567.891\n"));
  EXPECT_THAT(numbers(), testing::HasSubstr("1,5 = none\n"));
  EXPECT_THAT(numbers(), testing::HasSubstr("1.234,5 = none\n"));
  expect_the_same_in_every_locale(numbers);
}

TEST(Locale, DoesNotChangeValuesOfAnyKind) {
  expect_the_same_in_every_locale([] {
    std::string all;
    const auto add = [&](std::string_view text, Type type) {
      const auto value = value_of_text(text, type);
      all += std::string(text) + " = " +
             (value ? to_json(*value) + " " + plain_text(*value) : "none") + "\n";
    };
    for (const char* text : {"1234.5", "1.234,5", "1e3"}) add(text, Type::kNumber);
    for (const char* text : {"true", "TRUE", "wahr"}) add(text, Type::kBoolean);
    for (const char* text : {"2026-11-02", "02.11.2026", "2026-2-1"}) add(text, Type::kDate);
    for (const char* text : {"10:30:00.25", "10:30:00,25", "10:30:00+01:00"})
      add(text, Type::kTime);
    for (const char* text : {"2026-11-02T10:30:00.125Z", "2026-11-02T10:30:00@Europe/Berlin"})
      add(text, Type::kDateTime);
    for (const char* text : {"P1DT2H3M4.5S", "P1DT2H3M4,5S", "-PT0.001S"})
      add(text, Type::kDaysDuration);
    add("P1Y14M", Type::kMonthsDuration);
    return all;
  });
}

std::string told(const Table& table, const std::vector<Facts>& cases) {
  std::string all;
  for (const Facts& facts : cases) {
    all += to_json(table.evaluate(facts)) + "\n";
    base::JsonWriter json(all);
    write_json(json, table.explain(facts));
    all += "\n";
  }
  return all;
}

TEST(Locale, DoesNotChangeTheDefaultPolicy) {
  expect_the_same_in_every_locale([] {
    const Table table = compiled(default_policy_spec());
    std::string all;
    for (const char* finding :
         {"natural", "simulant", "indeterminate", "mixed", "none", "laboratory_grown", "NATURAL"}) {
      for (const char* declared : {"natural", "laboratory_grown", "simulant", "none"}) {
        for (int valid = 0; valid <= 2; ++valid) {
          const auto facts = default_policy_facts(finding, valid, 0, "in", "fit", declared);
          all += to_json(table.evaluate(facts)) + "\n";
          base::JsonWriter json(all);
          write_json(json, table.explain(facts));
          all += "\n";
        }
      }
    }
    for (const ProofNote& note : prove(table)) all += note.text + note.region + "\n";
    return all;
  });
}

TableSpec deposits() {
  TableSpec spec;
  spec.hit_policy = "FIRST";
  spec.inputs = {{"price / carat", "number"}, {"measured", "date"}, {"title", "string"}};
  spec.outputs = {{"deposit", "number"}, {"due", "date"}};
  spec.rules = {
      {{"[1000.5..5000.25]", "> date(\"2026-01-31\")", "-"},
       {"price * 0.125", "measured + duration(\"P30D\")"}},
      {{"> 5000.25", "-", "\"INDIGO\", \"indigo\", < \"Z\""}, {"price / 3", "@\"2026-12-24\""}},
      {{"-", "-", "-"}, {"1234567.75", "null"}}};
  return spec;
}

std::vector<Facts> stones() {
  std::vector<Facts> all;
  for (const char* price : {"1500.75", "9000", "0.01"}) {
    for (const char* carat : {"1.5", "0.53", "0"}) {
      for (const char* title :
           {"indigo", "INDIGO", "\xC4\xB1ndigo", "\xC4\xB0", "\xC3\xA4", "ss"}) {
        all.push_back({{"price", number(price)},
                       {"carat", number(carat)},
                       {"measured", date("2026-11-02")},
                       {"title", text(title)}});
      }
    }
  }
  return all;
}

TEST(Locale, DoesNotChangeTablesThatCalculate) {
  const auto work = [] {
    std::string all = told(compiled(deposits()), stones());
    for (const char* sum : {"SUM", "MIN", "MAX", "COUNT"}) {
      all += decide(
          one_column("COLLECT", {{"> 0.5", "1000.25"}, {"> 1.5", "0.125"}, {"-", "-2.5"}}, sum),
          {{"x", number("1.75")}});
    }
    for (const ProofNote& note : prove(compiled(deposits()))) all += note.text + note.region + "\n";
    return all;
  };
  // 9000 / 3 and 1500.75 × 0.125; 30 days after 2 November is 2 December.
  EXPECT_THAT(work(),
              testing::HasSubstr(R"({"outputs":{"deposit":3000,"due":"2026-12-24"},"rules":[2]})"));
  EXPECT_THAT(work(), testing::HasSubstr(
                          R"({"outputs":{"deposit":187.59375,"due":"2026-12-02"},"rules":[1]})"));
  EXPECT_THAT(work(),
              testing::HasSubstr(R"({"outputs":{"deposit":1234567.75,"due":null},"rules":[3]})"));
  expect_the_same_in_every_locale(work);
}

TEST(Locale, DoesNotChangeWhatIsWrongWithATable) {
  expect_the_same_in_every_locale([] {
    TableSpec spec = deposits();
    spec.hit_policy = "first";
    std::string all = problems_of(spec);
    spec = deposits();
    spec.rules[0].when[0] = "[1000,5..2000]";
    spec.rules[1].when[0] = "> 5.000,25";
    spec.rules[2].then[0] = "1 / 0";
    return all + problems_of(spec);
  });
}

TEST(Locale, DoesNotChangeTablesFromXml) {
  const auto work = [] {
    const auto read = import_dmn(
        "<definitions xmlns=\"https://www.omg.org/spec/DMN/20211108/MODEL/\" name=\"m\"><decision "
        "name=\"D\">"
        "<decisionTable hitPolicy=\"UNIQUE\"><input><inputExpression "
        "typeRef=\"number\"><text>INPUT i</text>"
        "</inputExpression></input><output/>"
        "<rule><inputEntry><text>[0.25..1000.5)</text></inputEntry><outputEntry><text>1234.5</"
        "text></outputEntry></rule>"
        "</decisionTable></decision></definitions>",
        "");
    const auto* imported = std::get_if<ImportedTable>(&read);
    return imported == nullptr
               ? "refused"
               : told(std::get<Table>(compile(*imported)), {{{"INPUT i", number("0.5")}}});
  };
  EXPECT_THAT(work(), testing::HasSubstr(R"({"outputs":1234.5,"rules":[1]})"));
  expect_the_same_in_every_locale(work);
}

}  // namespace
}  // namespace girdle::policy
