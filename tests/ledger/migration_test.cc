// An older ledger becomes a ledger of today. version1.sql holds one of version 1, as that version made it.
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

class Migration : public testing::Test {
 protected:
  Migration() {
    std::ifstream file(std::string(GIRDLE_SOURCE_DIR) + "/tests/ledger/version1.sql");
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

  // Every value of every table of version 1.
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

TEST_F(Migration, ItsOldLedgerHasRowsInEveryTable) {
  const Content before = content();
  EXPECT_EQ(before.size(), 16u);
  for (const auto& [table, stored] : before) EXPECT_FALSE(stored.empty()) << table;
}

TEST_F(Migration, KeepsEveryValueOfEveryTable) {
  const Content before = content();
  open();
  EXPECT_EQ(value(path(), "PRAGMA user_version"), std::to_string(kSchemaVersion));
  EXPECT_EQ(content(), before);
}

TEST_F(Migration, GivesTheTablesOfANewLedger) {
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

TEST_F(Migration, AnOldOutcomeSaysThatItDoesNotKnowItsReadings) {
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

TEST_F(Migration, TheLedgerGoesOnAfterIt) {
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

TEST_F(Migration, AReaderRefusesTheOlderVersionAndSaysWhatBringsItForward) {
  const auto before = schema();
  auto reader = Ledger::read(path());
  ASSERT_FALSE(reader.ok());
  EXPECT_EQ(reader.error().fault, base::Fault::kInput);
  EXPECT_NE(reader.error().text.find("older girdled (version 1 of the ledger"), std::string::npos) << reader.error().text;
  EXPECT_NE(reader.error().text.find("start `girdled run` of this program once"), std::string::npos);
  EXPECT_EQ(schema(), before);
  open();
  EXPECT_TRUE(Ledger::read(path()).ok());
}

// Fails each operation on the file in turn, until there are no more of them.
TEST_F(Migration, HappensAsAWholeOrNotAtAll) {
  const Content content_before = content();
  const auto schema_before = schema();
  FaultVfs vfs;
  int failures = 0;
  for (int64_t operation = 0;; ++operation) {
    vfs.fail_once_after(operation);
    auto opened = Ledger::open_on(path(), vfs.name());
    const bool met = vfs.operations() > operation;
    if (opened) {
      EXPECT_EQ((*opened)->shadows_of(65536)->size(), 0u);
      opened->reset();
      EXPECT_EQ(value(path(), "PRAGMA user_version"), std::to_string(kSchemaVersion));
      if (met) continue;  // it was migrated before, or the fault did no harm
      break;
    }
    ++failures;
    EXPECT_EQ(opened.error().fault, base::Fault::kEnvironment) << opened.error().text;
    ASSERT_EQ(value(path(), "PRAGMA user_version"), "1") << "operation " << operation;
    ASSERT_EQ(schema(), schema_before) << "operation " << operation;
    ASSERT_EQ(content(), content_before) << "operation " << operation;
  }
  EXPECT_GT(failures, 3) << "writes of the log, and its syncs";
  EXPECT_EQ(content(), content_before);
}

TEST_F(Migration, AFullDiskLeavesTheOldVersionAsItIs) {
  const Content before = content();
  FaultVfs vfs;
  vfs.disk_full(true);
  auto refused = Ledger::open_on(path(), vfs.name());
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.error().fault, base::Fault::kEnvironment);
  EXPECT_NE(refused.error().text.find("the disk is full"), std::string::npos) << refused.error().text;
  EXPECT_EQ(value(path(), "PRAGMA user_version"), "1");
  EXPECT_EQ(content(), before);
  vfs.disk_full(false);
  EXPECT_TRUE(Ledger::open_on(path(), vfs.name()).ok());
  EXPECT_EQ(content(), before);
}

// The step meets a table that version 1 does not have: the statements before it are undone.
TEST_F(Migration, AnUnexpectedTableStopsItWithNothingChanged) {
  execute(path(), "CREATE TABLE shadow (x)");
  const auto before = schema();
  auto refused = Ledger::open(path());
  ASSERT_FALSE(refused.ok());
  EXPECT_NE(refused.error().text.find("shadow already exists"), std::string::npos) << refused.error().text;
  EXPECT_EQ(schema(), before);
  EXPECT_EQ(value(path(), "PRAGMA user_version"), "1");
}

TEST_F(Migration, AVersionBelowTheFirstIsDamage) {
  execute(path(), "PRAGMA user_version = 0");
  auto refused = Ledger::open(path());
  ASSERT_FALSE(refused.ok());
  EXPECT_EQ(refused.error().fault, base::Fault::kInput);
  EXPECT_NE(refused.error().text.find("it says that its version is 0"), std::string::npos) << refused.error().text;
}

}  // namespace
}  // namespace girdle::ledger
