#include "api/roll.h"

#include <gtest/gtest.h>

#include <vector>

namespace girdle::api {
namespace {

const auto kHere = boost::asio::ip::make_address("127.0.0.1");
const auto kThere = boost::asio::ip::make_address("10.0.0.9");

Limits limits() {
  Limits few;
  few.connections = 3;
  few.refused = 2;
  few.per_peer = 2;
  return few;
}

TEST(Roll, ServesSoManyTellsSomeOfTheOthersAndClosesTheRest) {
  Roll roll(limits());
  std::vector<Roll::Seat> seats;
  for (int i = 0; i < 6; ++i) seats.push_back(roll.admit(kHere));
  for (int i = 0; i < 3; ++i) EXPECT_TRUE(seats[i] && !seats[i].is_refused());
  for (int i = 3; i < 5; ++i) EXPECT_TRUE(seats[i] && seats[i].is_refused());
  EXPECT_FALSE(seats[5]);
  seats[0].leave();
  EXPECT_FALSE(roll.admit(kHere).is_refused());
}

TEST(Roll, BoundsWhatOneAddressMayHave) {
  Roll roll(limits());
  const Roll::Seat one = roll.admit(kThere);
  {
    const Roll::Seat two = roll.admit(kThere);
    EXPECT_FALSE(roll.admit(kThere));
    EXPECT_FALSE(roll.admit(boost::asio::ip::make_address("::ffff:10.0.0.9")));
    EXPECT_TRUE(roll.admit(boost::asio::ip::make_address("10.0.0.8")));
  }
  EXPECT_TRUE(roll.admit(kThere));
}

TEST(Roll, CountsAListenerForItself) {
  Roll roll(limits());
  std::vector<Roll::Seat> seats;
  for (int i = 0; i < 3; ++i) seats.push_back(roll.admit(kHere));
  EXPECT_TRUE(roll.is_full());
  seats[1].listen();
  EXPECT_FALSE(roll.is_full());
  EXPECT_EQ(roll.listeners(), 1u);
  EXPECT_EQ(roll.connected(), 3u);
  seats.clear();
  EXPECT_EQ(roll.connected(), 0u);
}

}  // namespace
}  // namespace girdle::api
