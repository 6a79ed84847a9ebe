#include "intake/names_in_hand.h"

#include <gtest/gtest.h>

#include <random>
#include <set>

namespace girdle::intake {
namespace {

using namespace std::chrono_literals;

const SteadyTime kStart = SteadyTime() + 1h;

TEST(NamesInHand, FindsANameUntilItIsDropped) {
  NamesInHand names(4);
  InHand& a = names.take("a");
  EXPECT_EQ(names.find("a"), &a);
  EXPECT_EQ(names.find("b"), nullptr);
  names.fly(a);
  EXPECT_EQ(names.find("a"), &a);
  EXPECT_EQ(names.in_flight(), 1u);
  names.drop(a);
  EXPECT_EQ(names.find("a"), nullptr);
  EXPECT_EQ(names.in_flight(), 0u);
}

TEST(NamesInHand, GivesReadyNamesFirstAndWaitingOnesWhenTheyAreDue) {
  NamesInHand names(4);
  names.wait(names.take("late"), kStart + 20ms);
  names.wait(names.take("early"), kStart + 10ms);  // put before one that was there first
  names.make_ready(names.take("ready"));
  EXPECT_EQ(names.next_due(), kStart + 10ms);
  EXPECT_EQ(names.next(kStart)->name, "ready");
  EXPECT_EQ(names.next(kStart), nullptr);
  EXPECT_EQ(names.next(kStart + 15ms)->name, "early");
  EXPECT_EQ(names.next(kStart + 15ms), nullptr);
  EXPECT_EQ(names.next(kStart + 25ms)->name, "late");
  EXPECT_EQ(names.next_due(), SteadyTime::max());
}

TEST(NamesInHand, IsFullByWhatRestsAndByWhatFlies) {
  NamesInHand names(2);
  names.make_ready(names.take("a"));
  EXPECT_FALSE(names.is_full());
  names.wait(names.take("b"), kStart);
  EXPECT_TRUE(names.is_full());
  EXPECT_FALSE(names.is_flying_full());
  names.fly(*names.find("a"));
  EXPECT_FALSE(names.is_full());
  names.fly(*names.find("b"));
  EXPECT_TRUE(names.is_flying_full());
}

TEST(NamesInHand, ANewNameHasNothingOfTheOneWhosePlaceItTakes) {
  NamesInHand names(2);
  InHand& a = names.take("a");
  a.again = a.complete = a.verify = a.move = true;
  a.seen.inode = 7;
  names.drop(a);
  const InHand& b = names.take("b");
  EXPECT_EQ(&a, &b);  // no allocation for each name
  EXPECT_FALSE(b.again || b.complete || b.verify || b.move);
  EXPECT_EQ(b.seen, FileStatus());
  EXPECT_EQ(names.find("a"), nullptr);
}

TEST(NamesInHand, ForgetsAllButWhatIsInFlight) {
  NamesInHand names(8);
  names.make_ready(names.take("a"));
  names.wait(names.take("b"), kStart);
  names.fly(names.take("c"));
  names.drop_all_at_rest();
  EXPECT_EQ(names.find("a"), nullptr);
  EXPECT_EQ(names.find("b"), nullptr);
  EXPECT_NE(names.find("c"), nullptr);
  EXPECT_FALSE(names.has_ready());
}

TEST(NamesInHand, AgreesWithASetOverManyRandomSteps) {
  NamesInHand names(64);  // few buckets: many names share one
  std::set<std::string> model;
  std::mt19937_64 random(5);
  for (int step = 0; step < 50000; ++step) {
    const std::string name = "name " + std::to_string(random() % 200);
    InHand* const found = names.find(name);
    ASSERT_EQ(found != nullptr, model.contains(name));
    if (found == nullptr) {
      names.take(name);
      model.insert(name);
    } else if (random() % 3 == 0) {
      names.drop(*found);
      model.erase(name);
    } else if (random() % 2 == 0) {
      names.wait(*found, kStart + std::chrono::milliseconds(random() % 100));
    } else {
      names.make_ready(*found);
    }
  }
}

}  // namespace
}  // namespace girdle::intake
