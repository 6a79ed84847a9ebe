// Pages of the lists: every row once, in the list's order, whatever the limits; and no call walks through the ledger,
// whatever the filter. Counted is what is read of the file, page by page, so the numbers are those of any machine.
//
// GIRDLE_PAGES=10000000 makes it as long as a large shop's. The bounds are the same.
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <set>

#include "fault_vfs.h"
#include "ledger/ledger.h"
#include "raw.h"
#include "service/temp_ledger.h"

namespace girdle::ledger {
namespace {

using base::from_millis;
using model::DeliveryState;
using model::Disposition;
using model::Finding;

constexpr int64_t kStart = 1'793'000'000'000;

// `size` subjects in the order R0000000, R0000001 …: each has a reading, an open case with an outcome, a declaration, a
// delivery to the till that was sent. Of every 1,000 one reading is a void and one is by B-0042; two more are unbound, one delivery
// is parked and one waits, one aside is open. A thousand subjects more are only declared.
class Pages : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    const char* const asked = std::getenv("GIRDLE_PAGES");
    size_ = asked ? std::atoll(asked) : 20'000;
    temp_ = new TempLedger;
    auto ledger = temp_->open();
    ASSERT_TRUE(ledger->begin().ok());
    fill(*ledger);
    ASSERT_TRUE(ledger->commit().ok());
    ledger->tidy(1);
  }
  static void TearDownTestSuite() {
    delete temp_;
    temp_ = nullptr;
  }

  static std::string key_of(int64_t i) {
    char text[32];
    std::snprintf(text, sizeof text, "R%07lld", static_cast<long long>(i));
    return text;
  }

  static void fill(Ledger& ledger) {
    const Number intake = *ledger.intake("exports"), other = *ledger.intake("line");
    const Number a = *ledger.instrument("A-0117"), b = *ledger.instrument("B-0042");
    const Number till = *ledger.outlet("till"), inventory = *ledger.outlet("inventory");
    const Number house = *ledger.house({"default", "1", "sha256:00"}, "{}", from_millis(kStart));
    model::Document document;
    document.name = "a.csv";
    const Number in = *ledger.add_document(intake, document, from_millis(kStart));
    for (int64_t i = 0; i < size_; ++i) {
      bool fresh = false;
      const Number subject = *ledger.subject(key_of(i), &fresh);
      StoredReading reading;
      reading.subject = subject;
      reading.instrument = i % 1000 == 7 ? b : a;
      reading.intake = i % 1000 == 8 ? other : intake;
      reading.document = in;
      reading.content = i;
      reading.came_at = from_millis(kStart + i);
      reading.reading.run = std::to_string(i);
      reading.reading.stock_number = key_of(i);
      reading.reading.measured_at = from_millis(kStart + i);
      reading.reading.finding = i % 1000 == 9 ? Finding::kVoid : Finding::kNatural;
      (void)*ledger.add_reading(reading, false);
      StoredDeclaration declaration;
      declaration.content = i;
      declaration.came_at = from_millis(kStart + i);
      declaration.declaration.stock_number = key_of(i);
      (void)*ledger.add_declaration(subject, in, declaration);
      CaseRow row;
      row.number = first_case_of(subject);
      row.first_at = row.last_at = from_millis(kStart + i);
      row.sequence = 1;
      row.state = i % 1000 == 10 ? CaseState::kEmpty : CaseState::kOpen;
      EXPECT_TRUE(ledger.put_case(row, true).ok());
      OutcomeRow outcome;
      outcome.case_number = row.number;
      outcome.sequence = 1;
      outcome.house = house;
      outcome.decision.disposition = i % 1000 == 9 ? Disposition::kRefer : Disposition::kRelease;
      outcome.decided_at = from_millis(kStart + i);
      EXPECT_TRUE(ledger.add_outcome(outcome).ok());
      bool head = false;
      DeliveryRow delivery;
      delivery.id = *ledger.add_delivery(i % 2 ? till : inventory, row.number, 1, from_millis(kStart + i), &head);
      delivery.state = i % 1000 == 12 || i % 1000 == 13 ? DeliveryState::kParked : DeliveryState::kSent;
      delivery.changed_at = from_millis(kStart + i);
      if (i % 1000 != 14 && i % 1000 != 15) (void)*ledger.mark_delivery(delivery);
      if (i % 1000 == 16 || i % 1000 == 17) add_unbound(ledger, a, intake, in, i);
      if (i % 1000 == 18) add_aside(ledger, intake, in, i);
    }
    for (int64_t i = 0; i < 1000; ++i) {
      bool fresh = false;
      const Number subject = *ledger.subject("D" + std::to_string(1000 + i), &fresh);
      StoredDeclaration declaration;
      declaration.content = i;
      (void)*ledger.add_declaration(subject, in, declaration);
    }
  }

  static void add_unbound(Ledger& ledger, Number instrument, Number intake, Number document, int64_t i) {
    StoredReading reading;
    reading.instrument = instrument;
    reading.intake = intake;
    reading.document = document;
    reading.content = i;
    reading.reading.run = "u" + std::to_string(i);
    reading.reading.finding = Finding::kNatural;
    reading.reading.measured_at = from_millis(kStart + i / 2 * 2);  // 16 and 17 at once
    (void)*ledger.add_reading(reading, true);
  }

  // Of two that are set aside one is settled.
  static void add_aside(Ledger& ledger, Number intake, Number document, int64_t i) {
    model::Aside aside;
    aside.place = {static_cast<uint64_t>(i), 10, 1};
    aside.reason = "no word for \"X\"";
    aside.bytes = "X";
    (void)*ledger.add_aside(intake, document, aside, from_millis(kStart + i));
    model::Document other;
    other.name = "b.csv";
    const Number settled = *ledger.add_document(intake, other, from_millis(kStart));
    (void)*ledger.add_aside(intake, settled, aside, from_millis(kStart + i));
    (void)*ledger.settle_asides(settled, *ledger.begin_again(settled, from_millis(kStart + i)));
  }

  Pages() : ledger_(std::move(Ledger::open_on(temp_->path(), vfs_.name())).value()) {}

  // Every page from the first to the last; what came, in order. Fails where a call reads more than `most` pages of the
  // file.
  template <class Call>
  std::vector<std::string> all(Page page, Call call, int64_t most = 1'000'000) {
    std::vector<std::string> came;
    for (int calls = 0; calls < 100'000; ++calls) {
      const int64_t before = vfs_.reads();
      std::vector<std::string> part;
      Result<Next> next = call(page, part);
      EXPECT_TRUE(next.ok()) << (next.ok() ? "" : next.error().text);
      EXPECT_LE(vfs_.reads() - before, most);
      EXPECT_LE(static_cast<int64_t>(part.size()), page.limit);
      came.insert(came.end(), part.begin(), part.end());
      if (!next.ok() || !*next) return came;
      EXPECT_NE(**next, page.after) << "it does not go on";
      page.after = **next;
    }
    ADD_FAILURE() << "it never ends";
    return came;
  }
  template <class T>
  using Result = base::Result<T>;

  std::vector<std::string> cases(const Filter& filter, const Page& page = {}, int64_t most = 1'000'000) {
    return all(page, [&](const Page& p, std::vector<std::string>& part) {
      return ledger_->page_of_cases(filter, p, [&](const CaseLine& line) { part.push_back(line.key); });
    }, most);
  }
  std::vector<std::string> readings(const Filter& filter, const Page& page = {}, int64_t most = 1'000'000) {
    return all(page, [&](const Page& p, std::vector<std::string>& part) {
      return ledger_->page_of_readings(filter, p, [&](const ReadingLine& line) { part.push_back(line.key + "/" + line.stored.reading.run); });
    }, most);
  }
  std::vector<std::string> deliveries(const Filter& filter, const Page& page = {}, int64_t most = 1'000'000) {
    return all(page, [&](const Page& p, std::vector<std::string>& part) {
      return ledger_->page_of_deliveries(filter, p, [&](const DeliveryLine& line) {
        part.push_back(line.key + " " + line.outlet + " " + std::string(model::text(line.row.state)));
      });
    }, most);
  }

  static Filter of_stock(const std::string& stock) {
    Filter filter;
    filter.stock_number = stock;
    return filter;
  }
  static Filter of_word(const std::string& word) {
    Filter filter;
    filter.word = word;
    return filter;
  }

  static inline TempLedger* temp_ = nullptr;
  static inline int64_t size_ = 0;
  FaultVfs vfs_;
  std::unique_ptr<Ledger> ledger_;
};

// In the file there are some thousand pages; a call of a narrow list reads a few dozen.
constexpr int64_t kFewReads = 60;

TEST_F(Pages, HaveEveryCaseOnceTheNewestFirst) {
  Page page;
  page.limit = 777;
  const auto came = cases({}, page);
  ASSERT_EQ(static_cast<int64_t>(came.size()), size_);
  for (int64_t i = 0; i < size_; ++i) ASSERT_EQ(came[static_cast<size_t>(i)], key_of(size_ - 1 - i));
}

TEST_F(Pages, OfNarrowFiltersAreShortAndGoOnAndMissNothing) {
  Page page;
  page.limit = 3;
  page.most_looked = 450;
  const auto refer = cases(of_word("refer"), page, kFewReads);
  EXPECT_EQ(static_cast<int64_t>(refer.size()), size_ / 1000);
  EXPECT_TRUE(std::ranges::is_sorted(refer, std::greater()));
  Filter empty;
  empty.state = CaseState::kEmpty;
  EXPECT_EQ(static_cast<int64_t>(cases(empty, page, kFewReads).size()), size_ / 1000);
  Filter span;
  span.since = from_millis(kStart + 100);
  span.until = from_millis(kStart + 109);
  EXPECT_EQ(cases(span, page).size(), 10u);
  Filter voids = of_word("void");
  EXPECT_EQ(static_cast<int64_t>(readings(voids, page).size()), size_ / 1000);
  Filter by_b;
  by_b.instrument = "B-0042";
  EXPECT_EQ(static_cast<int64_t>(readings(by_b, page).size()), size_ / 1000);
  Filter by_line;
  by_line.intake = "line";
  EXPECT_EQ(static_cast<int64_t>(readings(by_line, page).size()), size_ / 1000);
}

TEST_F(Pages, LookAtABoundedNumberOfRowsWhateverTheFilter) {
  Page page;
  page.most_looked = 500;
  Filter nobody;
  nobody.since = nobody.until = from_millis(1);
  const int64_t before = vfs_.reads();
  int rows = 0;
  const auto next = ledger_->page_of_cases(nobody, page, [&](const CaseLine&) { ++rows; });
  ASSERT_TRUE(next.ok());
  EXPECT_EQ(rows, 0);
  ASSERT_TRUE(*next) << "it goes on";
  EXPECT_LE(vfs_.reads() - before, 40);
}

// Ascending by stock number, out of the index.
TEST_F(Pages, OfAStockNumbersBeginningGoByIt) {
  for (const int64_t limit : {1, 4, 50}) {
    Page page;
    page.limit = limit;
    const auto came = cases(of_stock("R000123*"), page, kFewReads);
    ASSERT_EQ(came.size(), 10u) << limit;
    EXPECT_EQ(came.front(), "R0001230");
    EXPECT_TRUE(std::ranges::is_sorted(came));
    EXPECT_EQ(readings(of_stock("R000123*"), page, kFewReads).size(), 10u);
    EXPECT_EQ(deliveries(of_stock("R000123*"), page, kFewReads).size(), 10u);
  }
  EXPECT_EQ(cases(of_stock("R0000042")), std::vector<std::string>{"R0000042"});
  EXPECT_TRUE(cases(of_stock("Z*")).empty());
}

// A stock list of a million stones that nobody has measured.
TEST_F(Pages, ASubjectWithoutRowsIsLookedAtLikeOne) {
  Page page;
  page.most_looked = 100;
  int calls = 0;
  for (Next next = Cursor{}; next; ++calls) {
    page.after = *next;
    auto went = ledger_->page_of_cases(of_stock("D*"), page, [](const CaseLine&) { ADD_FAILURE(); });
    ASSERT_TRUE(went.ok());
    next = *went;
    ASSERT_LT(calls, 100);
  }
  EXPECT_GE(calls, 10) << "1,000 subjects, 100 a call";
}

TEST_F(Pages, OfUnboundReadingsPassNothingByAndKeepThoseOfOneMomentApart) {
  Filter unbound;
  unbound.unbound = true;
  for (const int64_t limit : {1, 3, 200}) {
    Page page;
    page.limit = limit;
    page.most_looked = 10;
    const auto came = readings(unbound, page, kFewReads);
    EXPECT_EQ(static_cast<int64_t>(came.size()), size_ / 1000 * 2);
    EXPECT_EQ(std::set(came.begin(), came.end()).size(), came.size()) << "each once";
  }
  unbound.stock_number = "R*";
  EXPECT_TRUE(readings(unbound).empty()) << "what is unbound has none";
}

TEST_F(Pages, OfWhatWaitsOrIsParkedComeFromTheirIndexWhateverTheOutlet) {
  for (const std::string word : {"waiting", "parked"}) {
    Page page;
    page.limit = 3;
    page.most_looked = 10;
    const auto came = deliveries(of_word(word), page, kFewReads);
    EXPECT_EQ(static_cast<int64_t>(came.size()), size_ / 1000 * 2) << word;
    EXPECT_TRUE(std::ranges::is_sorted(came, std::greater())) << "of both outlets, the newest first";
    Filter of_till = of_word(word);
    of_till.outlet = "till";
    EXPECT_EQ(static_cast<int64_t>(deliveries(of_till, page, kFewReads).size()), size_ / 1000);
  }
  Filter unknown;
  unknown.outlet = "tilt";
  EXPECT_TRUE(deliveries(unknown).empty());
  EXPECT_TRUE(deliveries(of_word("lost")).empty());
}

TEST_F(Pages, OfDeliveriesOfACaseAreAllOfIt) {
  Filter filter;
  filter.case_number = first_case_of(*ledger_->find_subject("R0000042"));
  EXPECT_EQ(deliveries(filter, {}, kFewReads), std::vector<std::string>{"R0000042 inventory sent"});
}

TEST_F(Pages, OfOpenAsidesPassSettledOnesBy) {
  const auto asides = [&](const Filter& filter, bool wanted) {
    Page page;
    page.limit = 2;
    page.most_looked = 10;
    return all(page, [&](const Page& p, std::vector<std::string>& part) {
      return ledger_->page_of_asides(filter, p, [&](const AsideRow& row) {
        if (wanted) part.push_back(std::to_string(row.id) + (row.settled_at ? " settled" : " open"));
        return wanted;
      });
    });
  };
  Filter open;
  open.open = true;
  const auto came = asides(open, true);
  EXPECT_EQ(static_cast<int64_t>(came.size()), size_ / 1000);
  for (const std::string& row : came) EXPECT_TRUE(row.ends_with("open")) << row;
  EXPECT_EQ(static_cast<int64_t>(asides({}, true).size()), size_ / 1000 * 2);
  EXPECT_TRUE(asides(open, false).empty()) << "nobody wanted them";
  EXPECT_EQ(*ledger_->count_open_asides(1'000'000), size_ / 1000);
  EXPECT_EQ(*ledger_->count_open_asides(2), 2);
  open.intake = "line";
  EXPECT_TRUE(asides(open, true).empty());
}

TEST_F(Pages, OfAsidesLeaveTheirBytesOutWhereTheyAreNotAskedFor) {
  Filter brief;
  brief.brief = true;
  Page page;
  page.limit = 1;
  for (const bool is_brief : {false, true}) {
    brief.brief = is_brief;
    const auto done = ledger_->page_of_asides(brief, page, [&](const AsideRow& row) {
      EXPECT_EQ(row.aside.bytes, is_brief ? "" : "X");
      EXPECT_EQ(row.aside.reason, "no word for \"X\"");
      return true;
    });
    ASSERT_TRUE(done.ok());
  }
}

TEST_F(Pages, HaveEveryDeclarationOnce) {
  const auto declarations = [&](const Filter& filter) {
    Page page;
    page.limit = 333;
    return all(page, [&](const Page& p, std::vector<std::string>& part) {
      return ledger_->page_of_declarations(filter, p, [&](const DeclarationLine& line) {
        EXPECT_EQ(line.arrival.name, "a.csv");
        part.push_back(line.key);
      });
    });
  };
  EXPECT_EQ(static_cast<int64_t>(declarations({}).size()), size_ + 1000);
  EXPECT_EQ(declarations(of_stock("D1*")).size(), 1000u);
}

TEST_F(Pages, TellOneRowOfEach) {
  const Number number = first_case_of(*ledger_->find_subject("R0000009"));
  const auto line = ledger_->case_line(number);
  ASSERT_TRUE(line.ok() && *line);
  EXPECT_EQ((*line)->key, "R0000009");
  EXPECT_EQ((*line)->outcome.decision.disposition, Disposition::kRefer);
  EXPECT_EQ(*ledger_->case_line(1), std::nullopt);
  EXPECT_EQ(*ledger_->reading_line(1 << 30), std::nullopt);
  EXPECT_EQ(*ledger_->delivery_line(1 << 30), std::nullopt);
  EXPECT_EQ(*ledger_->declaration_line(1 << 30), std::nullopt);
  EXPECT_EQ(*ledger_->aside(1 << 30), std::nullopt);
}

TEST_F(Pages, AnOutletsTotalsAndAnInstrumentsTimesNeedNoLookAtTheirRows) {
  const int64_t before = vfs_.reads();
  const auto till = ledger_->outlet_totals(*ledger_->find_outlet("till"));
  ASSERT_TRUE(till.ok());
  EXPECT_EQ(till->waiting, size_ / 1000);
  EXPECT_EQ(till->parked, size_ / 1000);
  EXPECT_EQ(till->sent, size_ / 2 - size_ / 500);
  EXPECT_EQ(till->oldest_waiting_at, from_millis(kStart + 15));
  const auto instruments = ledger_->instruments();
  ASSERT_TRUE(instruments.ok());
  EXPECT_EQ(instruments->at(0).last_measured_at, from_millis(kStart + size_ - 1));
  EXPECT_EQ(instruments->at(1).last_measured_at, from_millis(kStart + size_ - 993));
  const auto latest = ledger_->last_readings_of(instruments->at(1).number, 3);
  ASSERT_TRUE(latest.ok());
  ASSERT_EQ(latest->size(), 3u);
  EXPECT_EQ(latest->at(0).reading.measured_at, from_millis(kStart + size_ - 993));
  EXPECT_EQ(latest->at(2).reading.measured_at, from_millis(kStart + size_ - 2993));
  EXPECT_LE(vfs_.reads() - before, kFewReads);
}

// For measuring by hand, with GIRDLE_PAGES=10000000: prints what a call takes.
TEST_F(Pages, AreQuick) {
  const auto timed = [&](const char* what, const auto& call) {
    std::vector<double> took;
    for (int i = 0; i < 20; ++i) {
      const auto begin = std::chrono::steady_clock::now();
      const auto next = call(i);
      ASSERT_TRUE(next.ok());
      took.push_back(std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin).count());
    }
    std::ranges::sort(took);
    std::printf("%-40s %8.2f ms, worst %8.2f ms\n", what, took[10], took.back());
    EXPECT_LT(took[10], 500) << "a hundred times what it should take";
  };
  timed("20,000 cases that do not fit", [&](int i) { return ledger_->page_of_cases(of_word(i % 2 ? "hold" : "reject"), {}, [](const CaseLine&) {}); });
  timed("20,000 readings that do not fit", [&](int) { return ledger_->page_of_readings(of_word("simulant"), {}, [](const ReadingLine&) {}); });
  timed("50 cases of a beginning", [&](int i) {
    return ledger_->page_of_cases(of_stock("R" + std::to_string(i % 2) + "*"), {}, [](const CaseLine&) {});
  });
  timed("the newest 500 readings", [&](int) {
    Page page;
    page.limit = 500;
    return ledger_->page_of_readings({}, page, [](const ReadingLine&) {});
  });
}

}  // namespace
}  // namespace girdle::ledger
