#include "ledger/ledger.h"

#include <gtest/gtest.h>

#include <fstream>

#include "ledger/schema.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

std::string refusal(const std::filesystem::path& path) {
  auto opened = Ledger::open(path);
  EXPECT_FALSE(opened.ok());
  return opened ? "" : opened.error().text;
}

std::string bytes(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return std::string((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
}

TEST(Ledger, HasANameOfItsOwnThatStays) {
  TempLedger temp, other;
  const std::string name = temp.open()->name();
  EXPECT_EQ(name.size(), 8u);
  EXPECT_EQ(temp.open()->name(), name);
  EXPECT_NE(other.open()->name(), name);
}

TEST(Ledger, TellsCaseNumbersFromItsOwnCaseIds) {
  TempLedger temp;
  auto ledger = temp.open();
  EXPECT_EQ(ledger->case_number(ledger->case_id(65536)), 65536);
  EXPECT_EQ(ledger->case_number("abcdefgh-65536"), std::nullopt);
  EXPECT_EQ(ledger->case_number(ledger->name() + "-65536x"), std::nullopt);
}

TEST(Ledger, RefusesASecondWriterAndNamesTheFirst) {
  TempLedger temp;
  auto first = temp.open();
  const std::string text = refusal(temp.path());
  EXPECT_NE(text.find("another girdled is at work on it (process " + std::to_string(::getpid())), std::string::npos) << text;
}

TEST(Ledger, RefusesANewerVersionAndLeavesItAlone) {
  TempLedger temp;
  temp.open().reset();
  execute(temp.path(), ("PRAGMA user_version = " + std::to_string(kSchemaVersion + 1)).c_str());
  const std::string before = bytes(temp.path());
  EXPECT_NE(refusal(temp.path()).find("newer girdled"), std::string::npos);
  EXPECT_EQ(bytes(temp.path()), before);
}

TEST(Ledger, RefusesAnotherProgramsDatabaseAndLeavesItAlone) {
  TempLedger temp;
  execute(temp.path(), "CREATE TABLE other (x)");
  const std::string before = bytes(temp.path());
  EXPECT_NE(refusal(temp.path()).find("another program"), std::string::npos);
  EXPECT_EQ(bytes(temp.path()), before);
}

TEST(Ledger, RefusesADamagedFile) {
  TempLedger temp;
  std::ofstream(temp.path()) << std::string(8192, 'x');
  EXPECT_NE(refusal(temp.path()).find("damaged"), std::string::npos);
}

TEST(Ledger, RefusesAFileThatLostItsEnd) {
  TempLedger temp;
  temp.open()->tidy(0);
  execute(temp.path(), "PRAGMA wal_checkpoint(TRUNCATE)");
  std::filesystem::resize_file(temp.path(), std::filesystem::file_size(temp.path()) / 2);
  EXPECT_NE(refusal(temp.path()).find("damaged"), std::string::npos);
}

TEST(Ledger, ReadersAreToldWhenThereIsNoneYet) {
  TempFolder folder;
  auto reader = Ledger::read(folder.path() / "ledger.db");
  ASSERT_FALSE(reader.ok());
  EXPECT_NE(reader.error().text.find("there is none yet"), std::string::npos);
}

TEST(Ledger, WhatIsRolledBackNeverHappened) {
  TempLedger temp;
  auto ledger = temp.open();
  ASSERT_TRUE(ledger->begin().ok());
  ASSERT_TRUE(ledger->intake("exports").ok());
  ledger->rollback();
  EXPECT_EQ(ledger->find_intake("exports"), std::nullopt);
}

TEST(Ledger, ReceiptsInARowAreFoundForEachOfTheirReadings) {
  TempLedger temp;
  auto ledger = temp.open();
  ASSERT_TRUE(ledger->begin().ok());
  const Number intake = *ledger->intake("exports");
  model::Document document;
  document.name = "again.csv";
  const Number number = *ledger->add_document(intake, document, base::Instant{});
  ASSERT_TRUE(ledger->add_receipts(Ledger::ReceiptKind::kReading, 100, 24, number, base::from_millis(5), 0).ok());
  ASSERT_TRUE(ledger->commit().ok());
  EXPECT_EQ(ledger->count_receipts(Ledger::ReceiptKind::kReading, 99), 0);
  EXPECT_EQ(ledger->count_receipts(Ledger::ReceiptKind::kReading, 100), 1);
  EXPECT_EQ(ledger->count_receipts(Ledger::ReceiptKind::kReading, 123), 1);
  EXPECT_EQ(ledger->count_receipts(Ledger::ReceiptKind::kReading, 124), 0);
  EXPECT_EQ(ledger->receipts_of(Ledger::ReceiptKind::kReading, 110)->front().name, "again.csv");
}

TEST(Ledger, KeepsWhichOfAReadingsFieldsAreDefaults) {
  TempLedger temp;
  auto ledger = temp.open();
  ASSERT_TRUE(ledger->begin().ok());
  const Number intake = *ledger->intake("exports");
  const Number instrument = *ledger->instrument("A-0117");
  const Number document = *ledger->add_document(intake, {}, base::Instant{});
  std::vector<Number> ids;
  for (const auto& defaults : {std::vector<std::string>{"operator", "extra.a \"b\""}, {}}) {
    StoredReading stored;
    stored.instrument = instrument;
    stored.document = document;
    stored.intake = intake;
    stored.content = static_cast<int64_t>(ids.size());
    stored.reading.run = std::to_string(ids.size());
    stored.reading.operator_name = "nobody";
    stored.reading.extra = {{"a \"b\"", "x"}};
    stored.reading.defaults = defaults;
    ids.push_back(*ledger->add_reading(stored, false));
    EXPECT_EQ((*ledger->reading(ids.back()))->reading.defaults, defaults);
  }
  ASSERT_TRUE(ledger->commit().ok());
  size_t seen = 0;
  const auto look = [&](const StoredReading& stored) {
    EXPECT_EQ(stored.reading.defaults.size(), stored.id == ids[0] ? 2u : 0u);
    EXPECT_EQ(stored.reading.instrument + stored.reading.stock_number, "A-0117");
    ++seen;
  };
  Filter all;
  all.until = base::Instant::max();
  all.limit = 10;
  ASSERT_TRUE(ledger->each_reading(all, look).ok());
  EXPECT_EQ(seen, 2u);
}

TEST(Ledger, ADeclarationLeadsToTheDocumentThatItCameIn) {
  TempLedger temp;
  auto ledger = temp.open();
  ASSERT_TRUE(ledger->begin().ok());
  const Number intake = *ledger->intake("stock-list");
  model::Document document;
  document.name = "list.csv";
  document.came_at = base::from_millis(7);
  const Number number = *ledger->add_document(intake, document, base::from_millis(9));
  bool fresh = false;
  const Number subject = *ledger->subject("R1", &fresh);
  ASSERT_TRUE(ledger->add_declaration(subject, number, {}).ok());
  ASSERT_TRUE(ledger->commit().ok());
  const auto declared = ledger->declarations_of(subject);
  ASSERT_TRUE(declared.ok());
  ASSERT_EQ(declared->size(), 1u);
  const auto arrival = ledger->arrival(declared->front().document);
  ASSERT_TRUE(arrival.ok());
  EXPECT_EQ(arrival->intake, "stock-list");
  EXPECT_EQ(arrival->name, "list.csv");
  EXPECT_EQ(arrival->came_at, base::from_millis(7)) << "not when it was taken";
  EXPECT_FALSE(ledger->arrival(number + 1).ok());
}

TEST(Ledger, CountsTheDeliveriesThatWaitAtAllOutlets) {
  TempLedger temp;
  auto ledger = temp.open();
  EXPECT_EQ(*ledger->count_waiting(), 0);
  ASSERT_TRUE(ledger->begin().ok());
  DeliveryRow sent;
  for (const char* name : {"till", "inventory"}) {
    const Number outlet = *ledger->outlet(name);
    for (int sequence = 1; sequence <= 2; ++sequence) {
      bool head = false;
      sent.id = *ledger->add_delivery(outlet, 65536, sequence, base::from_millis(10), &head);
    }
  }
  sent.state = model::DeliveryState::kSent;
  ASSERT_TRUE(ledger->mark_delivery(sent).ok());
  EXPECT_EQ(*ledger->count_waiting(), 3);
  ledger->rollback();
}

TEST(Ledger, OnlyTheFirstWaitingDeliveryOfACaseIsAHead) {
  TempLedger temp;
  auto ledger = temp.open();
  ASSERT_TRUE(ledger->begin().ok());
  const Number outlet = *ledger->outlet("till");
  bool head = false;
  const Number first = *ledger->add_delivery(outlet, 65536, 1, base::from_millis(10), &head);
  EXPECT_TRUE(head);
  const Number second = *ledger->add_delivery(outlet, 65536, 2, base::from_millis(11), &head);
  EXPECT_FALSE(head);
  base::Instant next{};
  EXPECT_EQ(ledger->due_deliveries(outlet, base::from_millis(20), 10, {}, &next)->size(), 1u);
  DeliveryRow sent;
  sent.id = first;
  sent.state = model::DeliveryState::kSent;
  sent.changed_at = base::from_millis(15);
  EXPECT_EQ(*ledger->mark_delivery(sent), second);
  EXPECT_EQ(ledger->due_deliveries(outlet, base::from_millis(20), 10, {}, &next)->front().id, second);
  ledger->rollback();
}

TEST(Ledger, HeadsBeyondTheLimitAreStillDue) {
  TempLedger temp;
  auto ledger = temp.open();
  ASSERT_TRUE(ledger->begin().ok());
  const Number outlet = *ledger->outlet("till");
  bool head = false;
  for (int i = 1; i <= 3; ++i) {
    ASSERT_TRUE(ledger->add_delivery(outlet, first_case_of(i), 1, base::from_millis(i), &head).ok());
  }
  base::Instant next{};
  EXPECT_EQ(ledger->due_deliveries(outlet, base::from_millis(20), 2, {}, &next)->size(), 2u);
  EXPECT_EQ(next, base::from_millis(3));
  EXPECT_EQ(ledger->due_deliveries(outlet, base::from_millis(20), 3, {}, &next)->size(), 3u);
  EXPECT_EQ(next, base::Instant::max());
  ledger->rollback();
}

TEST(Ledger, ItsSchemaIsTheDocumentedOne) {
  std::ifstream file(std::string(GIRDLE_SOURCE_DIR) + "/schemas/ledger.sql");
  const std::string documented((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  const auto squeezed = [](const std::string& text) {
    std::string out;
    for (const char c : text) {
      if (!std::isspace(static_cast<unsigned char>(c))) out += c;
    }
    return out;
  };
  EXPECT_NE(squeezed(documented).find(squeezed(kSchema)), std::string::npos);
}

}  // namespace
}  // namespace girdle::ledger
