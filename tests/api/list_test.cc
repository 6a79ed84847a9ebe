#include "api/list.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

#include "api/shop.h"
#include "base/text.h"

namespace girdle::api {
namespace {

TEST(CursorText, ComesBackAsItWas) {
  for (const ledger::Cursor& cursor : {ledger::Cursor{}, ledger::Cursor{"R1042#2 é", -5, 17},
                                       ledger::Cursor{std::string("\0\x1f", 2), std::numeric_limits<int64_t>::min(),
                                                      std::numeric_limits<int64_t>::max()}}) {
    const std::string text = cursor_text('c', cursor);
    EXPECT_EQ(cursor_of('c', text), cursor);
    EXPECT_TRUE(std::ranges::all_of(text, base::is_unreserved)) << text;
  }
}

TEST(CursorText, OfAnotherListOrHandIsNone) {
  const std::string right = cursor_text('c', {"R1", 5, 7});
  EXPECT_EQ(cursor_of('r', right), std::nullopt);
  for (const std::string& wrong :
       {std::string(), right.substr(1), right + "0", right + ".", right + "zz", std::string("c.05.7.5231"),
        std::string("c.+5.7.5231"), std::string("c.5.7.FF"), std::string("c.5.7.ff"), std::string("c.5.7"),
        std::string("c.5.99999999999999999999.")}) {
    EXPECT_EQ(cursor_of('c', wrong), std::nullopt) << wrong;
  }
}

}  // namespace
}  // namespace girdle::api
