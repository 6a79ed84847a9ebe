// Documents that are read again because a mapping was mended: what could not be read is taken in, what was read stays.
#include <gmock/gmock.h>

#include "service/recorder_table.h"

namespace girdle::service {
namespace {

using base::from_millis;
using model::Finding;

class Again : public RecorderTest {
 protected:
  static model::Aside aside(uint64_t offset, const std::string& reason) {
    model::Aside aside;
    aside.place = {offset, 100, 1};
    aside.reason = reason;
    aside.bytes = "x";
    return aside;
  }

  // Of three records the second was set aside.
  Batch first_try() {
    Batch batch = document({reading("1", 0, "R1042", Finding::kNatural), reading("3", 120, "R1042", Finding::kNatural)}, 5);
    batch.records.readings[1].place.offset = 200;
    batch.records.asides = {aside(100, "no word for X")};
    batch.bytes = std::make_shared<const std::string>("all of it");
    batch.resume = "header";
    batch.whole_file = true;
    return batch;
  }

  // The same document, with the second record read.
  Batch second_try(const Batch& before) {
    Batch batch = before;
    batch.records.asides.clear();
    model::Reading second = reading("2", 60, "R1042", Finding::kSimulant);
    second.place = {100, 100, 2};
    batch.records.readings.insert(batch.records.readings.begin() + 1, second);
    batch.again = 1;
    batch.counts = std::make_shared<RecordCounts>();
    return batch;
  }

  std::vector<std::string> asides() {
    std::vector<std::string> all;
    EXPECT_TRUE(ledger_->page_of_asides({}, {}, [&](const ledger::AsideRow& row) {
      all.push_back(row.aside.reason + (row.settled_at ? " settled" : " open"));
      return true;
    }).ok());
    return all;
  }

  int64_t receipts() {
    int64_t count = 0;
    for (ledger::Number id = 1; id < 10; ++id) count += ledger_->count_receipts(ledger::Ledger::ReceiptKind::kReading, id);
    return count;
  }
};

TEST_F(Again, ADocumentOfWhichSomethingIsSetAsideIsKept) {
  const Batch before = first_try();
  record({before});
  const auto kept = ledger_->kept_document(1);
  ASSERT_TRUE(kept.ok() && *kept);
  EXPECT_EQ((*kept)->bytes, "all of it");
  EXPECT_EQ((*kept)->resume, "header");
  EXPECT_EQ((*kept)->document.digest, before.document.digest);
  Batch clean = document({reading("9", 900, "R7", Finding::kNatural)});
  clean.bytes = before.bytes;
  record({clean});
  EXPECT_EQ(*ledger_->kept_document(2), std::nullopt) << "nothing was set aside";
}

TEST_F(Again, ADocumentInPiecesIsKeptWhicheverPieceHadTheAside) {
  Batch first = document({reading("1", 0, "R1042", Finding::kNatural)});
  first.last = false;
  first.records.asides = {aside(300, "no date")};
  Batch last = document({reading("2", 60, "R1042", Finding::kNatural)});
  last.document = first.document;
  last.first = false;
  last.bytes = std::make_shared<const std::string>("all of it");
  record({first});
  record({last});
  EXPECT_EQ((*ledger_->kept_document(1))->bytes, "all of it");
}

TEST_F(Again, WhatCanBeReadNowIsTakenInAndWhatWasReadIsNoDuplicate) {
  const Batch before = first_try();
  record({before});
  const Batch again = second_try(before);
  record({again});
  EXPECT_EQ(again.counts->readings, 1u);
  EXPECT_EQ(again.counts->duplicates, 0u);
  EXPECT_EQ(again.counts->settled, 1u);
  EXPECT_EQ(receipts(), 0);
  EXPECT_THAT(asides(), testing::ElementsAre("no word for X settled"));
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 3);
  EXPECT_EQ(last_outcome("R1042").decision.reason, "findings_differ");
  const auto told = ledger_->reading_line(3);
  EXPECT_EQ((*told)->stored.came_at, before.document.came_at) << "it came when its document came";
  EXPECT_EQ((*told)->stored.document, 1) << "no new document";
  record({second_try(before)});
  EXPECT_EQ(recorder_->counts().readings, 3u);
  EXPECT_EQ(receipts(), 0) << "and once more";
}

// The mended mapping reads another record otherwise, too.
TEST_F(Again, WhatWasReadStaysAsItWasRead) {
  const Batch before = first_try();
  record({before});
  Batch again = second_try(before);
  again.records.readings[0].finding = Finding::kSimulant;
  record({again});
  const auto first = ledger_->reading_line(1);
  EXPECT_TRUE((*first)->stored.live);
  EXPECT_EQ((*first)->stored.reading.finding, Finding::kNatural);
  EXPECT_EQ(recorder_->counts().corrections, 0u);
}

TEST_F(Again, ARecordThatAnotherDocumentBroughtMeanwhileIsADuplicate) {
  const Batch before = first_try();
  record({before});
  record({document({reading("2", 60, "R1042", Finding::kSimulant)}, 900)});
  record({second_try(before)});
  EXPECT_EQ(recorder_->counts().readings, 3u);
  EXPECT_EQ(receipts(), 1);
  record({second_try(before)});
  EXPECT_EQ(receipts(), 1) << "once";
  const auto told = ledger_->reading_line(3);
  EXPECT_EQ((*told)->stored.came_at, before.document.came_at) << "the earlier of the two";
}

TEST_F(Again, WhatStillCannotBeReadStaysOpen) {
  const Batch before = first_try();
  record({before});
  Batch again = second_try(before);
  again.records.readings.erase(again.records.readings.begin() + 1);
  again.records.asides = {aside(100, "no word for X"), aside(200, "no carat")};
  record({again});
  EXPECT_EQ(again.counts->asides, 2u);
  EXPECT_EQ(again.counts->settled, 0u);
  EXPECT_THAT(asides(), testing::ElementsAre("no carat open", "no word for X open"));
}

TEST_F(Again, ADeclarationIsTakenInOnce) {
  Batch list;
  list.document.intake = "stock";
  list.document.name = "list";
  list.records.declarations.emplace_back().stock_number = "R1042";
  list.records.declarations.back().identity = Finding::kNatural;
  list.records.asides = {aside(100, "no word for Y")};
  record({list});
  Batch again = list;
  again.again = 1;
  again.records.asides.clear();
  again.records.declarations.emplace_back().stock_number = "R1043";
  again.records.declarations.back().place.offset = 100;
  record({again});
  record({again});
  EXPECT_EQ(recorder_->counts().declarations, 2u);
  EXPECT_EQ(recorder_->counts().duplicate_declarations, 0u);
}

// Promise 3: whatever could only be read at the second or third try, and whenever that was.
TEST_F(Again, OrderOfArrivalDoesNotMatterWithDocumentsThatAreTriedAgain) {
  const auto [first, end] = seeds(300);
  int tried = 0;
  for (unsigned seed = first; seed < end; ++seed) {
    std::mt19937 random(seed);
    std::vector<Batch> documents = random_documents(random);
    const ExpectedCases expected = whole_set(documents, *house_);
    open();
    std::shuffle(documents.begin(), documents.end(), random);
    std::vector<Batch> left;
    for (size_t i = 0; i < documents.size(); ++i) {
      Batch part = documents[i];
      auto& readings = part.records.readings;
      const auto held_back = std::erase_if(readings, [&](const model::Reading&) { return random() % 3 == 0; });
      auto& declarations = part.records.declarations;
      const auto also = std::erase_if(declarations, [&](const model::Declaration&) { return random() % 3 == 0; });
      if (held_back + also > 0) {
        part.records.asides = {aside(1, "no word for X")};
        left.push_back(documents[i]);
        left.back().again = static_cast<ledger::Number>(i + 1);
      }
      record({part});
      while (!left.empty() && (random() % 3 == 0 || i + 1 == documents.size())) {
        const size_t which = random() % left.size();
        record({left[which]});
        if (random() % 4 != 0) left.erase(left.begin() + static_cast<std::ptrdiff_t>(which));
        ++tried;
      }
    }
    const ExpectedCases stored = stored_cases(*ledger_);
    ASSERT_TRUE(stored == expected) << "seed " << seed << "\nexpected\n" << told(expected) << "stored\n" << told(stored);
    ASSERT_EQ(*ledger_->count_open_asides(100), 0);
  }
  EXPECT_GT(tried, 1000) << "hardly any was tried again";
}

TEST_F(Again, ACrashBetweenThePiecesSettlesNothing) {
  const Batch before = first_try();
  record({before});
  Batch first = second_try(before);
  first.last = false;
  record({first});
  EXPECT_THAT(asides(), testing::ElementsAre("no word for X open"));
  start();
  EXPECT_THAT(asides(), testing::ElementsAre("no word for X open"));
  Batch last = second_try(before);
  last.first = false;
  ASSERT_TRUE(ledger_->begin().ok());
  EXPECT_FALSE(recorder_->add(last).ok()) << "its beginning is forgotten";
  ledger_->rollback();
  recorder_->rolled_back();
  record({second_try(before)});
  EXPECT_THAT(asides(), testing::ElementsAre("no word for X settled"));
  EXPECT_EQ(last_outcome("R1042").decision.evidence.valid, 3);
}

TEST_F(Again, PiecesOfOneTransactionThatIsTakenBackComeAgain) {
  const Batch before = first_try();
  record({before});
  Batch first = second_try(before), last = second_try(before);
  first.last = false;
  last.first = false;
  record({first});
  record_in_vain(std::span(&last, 1));
  EXPECT_THAT(asides(), testing::ElementsAre("no word for X open"));
  record({last});
  EXPECT_THAT(asides(), testing::ElementsAre("no word for X settled"));
}

}  // namespace
}  // namespace girdle::service
