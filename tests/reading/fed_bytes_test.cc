#include "reading/fed_bytes.h"

#include <gtest/gtest.h>

#include <random>

namespace girdle::reading {
namespace {

TEST(FedBytes, GivesAStretchThatCameInTwoPieces) {
  FedBytes bytes;
  bytes.take("abcd");
  bytes.forget_until(2);
  bytes.keep();
  bytes.take("efgh");
  EXPECT_EQ(bytes.begin(), 2u);
  EXPECT_EQ(bytes.end(), 8u);
  EXPECT_EQ(bytes.copy(2, 4), "cdef");
  EXPECT_EQ(bytes.copy(3, 1), "d");
  EXPECT_EQ(bytes.copy(5, 3), "fgh");
  EXPECT_EQ(bytes.copy(0, 4), "cd");  // what is left of it
  EXPECT_EQ(bytes.copy(7, 100), "h");
  EXPECT_EQ(bytes.copy(8, 1), "");
}

// Against the whole document kept in a string.
TEST(FedBytes, AgreesWithADocumentThatIsKeptWhole) {
  std::mt19937 random(7);
  std::string whole;
  for (int i = 0; i < 5000; ++i) whole += static_cast<char>('a' + random() % 26);
  FedBytes bytes;
  size_t fed = 0, forgotten = 0;
  while (fed < whole.size()) {
    const size_t size = std::min<size_t>(random() % 40, whole.size() - fed);
    bytes.take(std::string_view(whole).substr(fed, size));
    fed += size;
    for (int i = 0; i < 5; ++i) {
      const size_t from = random() % (fed + 1), length = random() % 100;
      const size_t first = std::max(from, forgotten), last = std::min(from + length, fed);
      ASSERT_EQ(bytes.copy(from, length), first < last ? whole.substr(first, last - first) : "");
    }
    if (random() % 3 == 0) {
      forgotten += random() % (fed - forgotten + 1);
      bytes.forget_until(forgotten);
    }
    bytes.keep();
    ASSERT_EQ(bytes.begin(), forgotten);
    ASSERT_EQ(bytes.end(), fed);
  }
}

}  // namespace
}  // namespace girdle::reading
