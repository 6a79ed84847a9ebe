// An older ledger becomes a ledger of today. versionN.sql holds one of version N, as that version made it.
#include <gtest/gtest.h>

#include <fstream>
#include <map>

#include "fault_vfs.h"
#include "ledger/ledger.h"
#include "ledger/schema.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using Content = std::map<std::string, std::vector<std::string>>;

std::vector<std::string> columns(const std::filesystem::path& path, const std::string& table) {
  return rows(path, "SELECT name FROM pragma_table_info('" + table + "')");
}

class Migration : public testing::TestWithParam<int64_t> {
 protected:
  Migration() : Migration(GetParam()) {}

  explicit Migration(int64_t version) {
    std::ifstream file(std::string(GIRDLE_SOURCE_DIR) + "/tests/ledger/version" + std::to_string(version) + ".sql");
    const std::string sql((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    execute(path(), sql.c_str());
    for (const std::string& table : rows(path(), "SELECT name FROM sqlite_schema WHERE type = 'table'")) {
      for (const std::string& name : columns(path(), table)) {
        std::string& quoted = old_columns_[table];
        quoted += (quoted.empty() ? "quote(" : ", quote(") + name + ")";
      }
    }
  }

  std::filesystem::path path() const { return folder_.path() / "ledger.db"; }

  // Every value of every table of the old version.
  Content content() const {
    Content content;
    for (const auto& [table, quoted] : old_columns_) {
      content[table] = rows(path(), "SELECT " + quoted + " FROM " + table + " ORDER BY 1, 2");
    }
    return content;
  }

  std::vector<std::string> schema() const {
    return rows(path(), "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name");
  }

  std::unique_ptr<Ledger> open() {
    auto opened = Ledger::open(path());
    EXPECT_TRUE(opened.ok()) << (opened ? "" : opened.error().text);
    return opened ? std::move(*opened) : nullptr;
  }

 private:
  TempFolder folder_;
  std::map<std::string, std::string> old_columns_;  // by table
};

class MigrationFrom1 : public Migration {
 protected:
  MigrationFrom1() : Migration(1) {}
};

class MigrationFrom2 : public Migration {
 protected:
  MigrationFrom2() : Migration(2) {}
};

class MigrationFrom3 : public Migration {
 protected:
  MigrationFrom3() : Migration(3) {}
};

INSTANTIATE_TEST_SUITE_P(FromVersion, Migration, testing::Range<int64_t>(1, kSchemaVersion), testing::PrintToStringParamName());

TEST_P(Migration, ItsOldLedgerHasRowsInEveryTable) {
  const Content before = content();
  constexpr size_t kTables[] = {16, 18, 20};
  EXPECT_EQ(before.size(), kTables[GetParam() - 1]);
  for (const auto& [table, stored] : before) EXPECT_FALSE(stored.empty()) << table;
}

TEST_P(Migration, KeepsEveryValueOfEveryTable) {
  const Content before = content();
  open();
  EXPECT_EQ(value(path(), "PRAGMA user_version"), std::to_string(kSchemaVersion));
  EXPECT_EQ(content(), before);
}

TEST_P(Migration, GivesTheTablesOfANewLedger) {
  open();
  TempLedger fresh;
  fresh.open();
  const char* const names = "SELECT type, name, tbl_name FROM sqlite_schema ORDER BY name";
  EXPECT_EQ(rows(path(), names), rows(fresh.path(), names));
  for (const std::string& table : rows(fresh.path(), "SELECT name FROM sqlite_schema WHERE type = 'table'")) {
    for (const char* const about : {"table_info", "foreign_key_list"}) {
      const std::string sql = "SELECT * FROM pragma_" + std::string(about) + "('" + table + "')";
      EXPECT_EQ(rows(path(), sql), rows(fresh.path(), sql)) << table;
    }
  }
}

TEST_F(MigrationFrom1, AnOldOutcomeSaysThatItDoesNotKnowItsReadings) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  EXPECT_EQ(ledger->name(), "easazxwv");
  const auto found = ledger->outcome(65536, 2);
  ASSERT_TRUE(found.ok() && *found) << found.error().text;
  const OutcomeRow& outcome = **found;
  EXPECT_EQ(outcome.measured, std::nullopt);
  EXPECT_EQ(outcome.decision.disposition, model::Disposition::kRelease);
  EXPECT_EQ(outcome.decision.reason, "as_declared");
  EXPECT_EQ(outcome.decision.rule, 9);
  EXPECT_EQ(outcome.duplicates, 3);
  EXPECT_EQ(outcome.declaration, 1);
  EXPECT_EQ(outcome.decided_at, from_millis(1700000000700));
  model::Evidence evidence;
  evidence.valid = 2;
  evidence.voids = evidence.discounted = 1;
  evidence.required = 2;
  evidence.finding = model::Evidence::Common::kNatural;
  evidence.scope = model::Scope::kIn;
  evidence.instrument = model::Fitness::kFit;
  evidence.declared = model::Finding::kNatural;
  EXPECT_EQ(outcome.decision.evidence, evidence) << "what version 1 did not keep is nothing";
}

TEST_F(MigrationFrom1, TheLedgerGoesOnAfterIt) {
  {
    auto ledger = open();
    ASSERT_TRUE(ledger);
    ASSERT_TRUE(ledger->begin().ok());
    OutcomeRow outcome;
    outcome.case_number = 65536;
    outcome.sequence = 3;
    outcome.house = 1;
    outcome.measured = {{1, 2}};
    ASSERT_TRUE(ledger->add_outcome(outcome).ok());
    ASSERT_TRUE(ledger->add_shadow({65536, 3, 1, model::Disposition::kHold, "as_declared", 2}).ok());
    ASSERT_TRUE(ledger->add_activation({1, from_millis(1700000002000), {}, "", ""}).ok());
    ASSERT_TRUE(ledger->commit().ok());
  }
  auto reader = Ledger::read(path());
  ASSERT_TRUE(reader.ok()) << reader.error().text;
  EXPECT_EQ((**reader->get()->outcome(65536, 3)).measured->size(), 1u);
  EXPECT_EQ((*reader)->shadows_of(65536)->size(), 1u);
  EXPECT_EQ((**(*reader)->last_activation()).house, 1);
}

TEST_P(Migration, AReaderRefusesTheOlderVersionAndSaysWhatBringsItForward) {
  const auto before = schema();
  auto reader = Ledger::read(path());
  ASSERT_FALSE(reader.ok());
  EXPECT_EQ(reader.error().fault, base::Fault::kInput);
  EXPECT_NE(reader.error().text.find("older girdled (version " + std::to_string(GetParam()) + " of the ledger"), std::string::npos) << reader.error().text;
  EXPECT_NE(reader.error().text.find("start `girdled run` of this program once"), std::string::npos);
  EXPECT_EQ(schema(), before);
  open();
  EXPECT_TRUE(Ledger::read(path()).ok());
}

// Fails each operation on the file in turn, until there are no more of them.
TEST_P(Migration, HappensAsAWholeOrNotAtAll) {
  const Content content_before = content();
  const auto schema_before = schema();
  FaultVfs vfs;
  int failures = 0;
  for (int64_t operation = 0;; ++operation) {
    vfs.fail_once_after(operation);
    auto opened = Ledger::open_on(path(), vfs.name());
    const bool met = vfs.operations() > operation;
    if (opened) {
      EXPECT_TRUE((*opened)->counts().ok());
      opened->reset();
      EXPECT_EQ(value(path(), "PRAGMA user_version"), std::to_string(kSchemaVersion));
      if (met) continue;  // it was migrated before, or the fault did no harm
      break;
    }
    ++failures;
    EXPECT_EQ(opened.error().fault, base::Fault::kEnvironment) << opened.error().text;
    ASSERT_EQ(value(path(), "PRAGMA user_version"), std::to_string(GetParam())) << "operation " << operation;
    ASSERT_EQ(schema(), schema_before) << "operation " << operation;
    ASSERT_EQ(content(), content_before) << "operation " << operation;
  }
  EXPECT_GT(failures, 3) << "writes of the log, and its syncs";
  EXPECT_EQ(content(), content_before);
}

TEST_P(Migration, AFullDiskLeavesTheOldVersionAsItIs) {
  const Content before = content();
  FaultVfs vfs;
  vfs.disk_full(true);
  auto refused = Ledger::open_on(path(), vfs.name());
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.error().fault, base::Fault::kEnvironment);
  EXPECT_NE(refused.error().text.find("the disk is full"), std::string::npos) << refused.error().text;
  EXPECT_EQ(value(path(), "PRAGMA user_version"), std::to_string(GetParam()));
  EXPECT_EQ(content(), before);
  vfs.disk_full(false);
  EXPECT_TRUE(Ledger::open_on(path(), vfs.name()).ok());
  EXPECT_EQ(content(), before);
}

// A step meets a table that its version does not have: the statements before it are undone, and the steps.
TEST_P(Migration, AnUnexpectedTableStopsItWithNothingChanged) {
  execute(path(), "CREATE TABLE token (x)");
  const auto before = schema();
  auto refused = Ledger::open(path());
  ASSERT_FALSE(refused.ok());
  EXPECT_NE(refused.error().text.find("token already exists"), std::string::npos) << refused.error().text;
  EXPECT_EQ(schema(), before);
  EXPECT_EQ(value(path(), "PRAGMA user_version"), std::to_string(GetParam()));
}

TEST_F(MigrationFrom2, AnOldDeliveryHasMadeAsManyAttemptsAsItTellsAndCountsOn) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  const auto found = ledger->delivery(6);
  ASSERT_TRUE(found.ok() && *found);
  DeliveryRow row = **found;
  EXPECT_EQ(row.state, model::DeliveryState::kWaiting);
  EXPECT_EQ(row.made, 3);
  EXPECT_EQ(row.status, 503);
  EXPECT_EQ(row.reference, "");
  EXPECT_TRUE(ledger->attempts_of(6)->empty()) << "version 2 kept none";
  row.attempts = 4;
  row.state = model::DeliveryState::kSent;
  row.due.reset();
  AttemptRow attempt;
  attempt.status = 204;
  ASSERT_TRUE(ledger->begin().ok());
  EXPECT_EQ(*ledger->mark_delivery(row, &attempt), 14) << "the case's next outcome";
  ASSERT_TRUE(ledger->commit().ok());
  EXPECT_EQ(ledger->attempts_of(6)->at(0).number, 4);
  EXPECT_EQ((**ledger->delivery(6)).made, 4);
}

TEST_F(MigrationFrom2, WhatItsVersionParkedIsFoundAndGoesAgain) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  Selection parked;
  parked.parked = true;
  ASSERT_TRUE(ledger->begin().ok());
  const auto resent = ledger->resend(parked, from_millis(1800000000000));
  ASSERT_TRUE(resent.ok()) << resent.error().text;
  EXPECT_EQ(resent->again, 2) << "8 and 16";
  EXPECT_EQ(resent->overtaken, 2) << "a later outcome of 2's case was sent, one of 3's waits";
  EXPECT_EQ(resent->waiting, 0);
  EXPECT_EQ((**ledger->delivery(8)).made, 3);
  ASSERT_TRUE(ledger->commit().ok());
}

TEST_F(MigrationFrom2, AnOutletThatItsVersionClosedCanBeOpened) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  EXPECT_EQ(ledger->outlet_closed(2), "it answered 410: gone");
  EXPECT_EQ(ledger->outlet_paused(2), "");
  ASSERT_TRUE(ledger->begin().ok());
  EXPECT_TRUE(*ledger->resume_outlet(2));
  ASSERT_TRUE(ledger->commit().ok());
  EXPECT_EQ(ledger->outlet_closed(2), "");
}

TEST_P(Migration, CountsTheDeliveriesOfEachOutlet) {
  open();
  std::map<std::string, std::string> counted;
  for (const std::string& row : rows(path(), "SELECT outlet || ' ' || state, count(*) FROM delivery GROUP BY 1")) {
    counted[row.substr(0, row.find(" |"))] = row;
  }
  EXPECT_FALSE(counted.empty());
  const char* const kStates[] = {"waiting", "sent", "parked", "skipped"};
  for (const std::string outlet : {"1", "2"}) {
    for (int state = 0; state < 4; ++state) {
      const std::string key = outlet + " " + std::to_string(state);
      const std::string count = counted.contains(key) ? counted[key].substr(counted[key].rfind(' ') + 1) : "0";
      EXPECT_EQ(value(path(), "SELECT " + std::string(kStates[state]) + " FROM outlet_total WHERE outlet = " + outlet), count) << key;
    }
  }
}

TEST_F(MigrationFrom3, AnOutletTellsItsLastAttemptAndItsOldestDelivery) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  const auto till = ledger->outlet_totals(1);
  ASSERT_TRUE(till.ok()) << till.error().text;
  EXPECT_EQ(till->waiting, 3);
  EXPECT_EQ(till->sent, 7);
  EXPECT_EQ(till->parked, 3);
  ASSERT_TRUE(till->last);
  EXPECT_EQ(till->last->delivery, 24);
  EXPECT_EQ(till->last->number, 2);
  EXPECT_EQ(till->last->status, 503);
  EXPECT_EQ(till->last->note, "answered 503");
  EXPECT_EQ(till->oldest_waiting_at, ledger->outcome(458752, 2)->value().decided_at)
      << "18 has a lower number, and waits only since it was sent again";
  const auto inventory = ledger->outlet_totals(2);
  ASSERT_TRUE(inventory.ok());
  EXPECT_EQ(inventory->last, std::nullopt);
  EXPECT_EQ(inventory->oldest_waiting_at, ledger->outcome(65538, 1)->value().decided_at);
}

TEST_F(MigrationFrom3, AnInstrumentTellsWhenItMeasuredLast) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  const auto instruments = ledger->instruments();
  ASSERT_TRUE(instruments.ok());
  ASSERT_EQ(instruments->size(), 2u);
  for (const InstrumentRow& row : *instruments) {
    const std::string of = " FROM reading WHERE instrument = " + std::to_string(row.number);
    EXPECT_EQ(std::to_string(base::to_millis(*row.last_measured_at)), value(path(), "SELECT max(measured_at)" + of));
    EXPECT_EQ(std::to_string(base::to_millis(*row.last_came_at)), value(path(), "SELECT max(came_at)" + of));
  }
}

TEST_F(MigrationFrom3, WhatItsVersionSetAsideIsOpenAndCannotBeReadAgain) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  EXPECT_EQ(*ledger->count_open_asides(100), 3);
  const auto aside = ledger->aside(3);
  ASSERT_TRUE(aside.ok() && *aside);
  EXPECT_EQ((*aside)->settled_at, std::nullopt);
  EXPECT_FALSE((*aside)->is_kept) << "version 3 kept no bytes of documents";
}

TEST_F(MigrationFrom3, NobodyIsLetInAndNothingWasDecidedByHand) {
  auto ledger = open();
  ASSERT_TRUE(ledger);
  EXPECT_TRUE(ledger->tokens()->empty());
  EXPECT_FALSE(ledger->has_bindings());
  EXPECT_EQ(ledger->outcome(458752, 2)->value().hand, std::nullopt);
}

TEST_F(MigrationFrom1, AVersionBelowTheFirstIsDamage) {
  execute(path(), "PRAGMA user_version = 0");
  auto refused = Ledger::open(path());
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.error().fault, base::Fault::kInput);
  EXPECT_NE(refused.error().text.find("it says that its version is 0"), std::string::npos) << refused.error().text;
}

}  // namespace
}  // namespace girdle::ledger
