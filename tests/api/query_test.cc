#include "api/query.h"

#include <gtest/gtest.h>

#include "api/shop.h"
#include "model/words.h"

namespace girdle::api {
namespace {

Request asked(std::vector<std::pair<std::string, std::string>> query) {
  Request request;
  request.query = std::move(query);
  return request;
}

TEST(Query, ReadsWhatIsGivenAndLeavesTheRestAsItWas) {
  const Request request = asked(
      {{"q", "R10"}, {"since", "2026-11-02T11:15:30+01:00"}, {"all", "true"}, {"limit", "200"}, {"state", "parked"}});
  Query query(request, {"q", "intake", "since", "until", "all", "limit", "state"});
  EXPECT_EQ(query.text("q"), "R10");
  EXPECT_EQ(query.text("intake"), "");
  EXPECT_EQ(query.time("since"), at("10:15:30"));
  EXPECT_EQ(query.time("until"), std::nullopt);
  EXPECT_TRUE(query.flag("all"));
  EXPECT_EQ(query.limit(), 200);
  EXPECT_EQ(query.word<model::DeliveryState>("state", model::delivery_state_of, {"waiting"}),
            model::DeliveryState::kParked);
  EXPECT_TRUE(query.is_right()) << query.problem();
  const Request nothing;
  EXPECT_EQ(Query(nothing, {"limit"}).limit(), 50);
}

TEST(Query, RefusesAParameterThatIsNotKnownAndNamesThoseThatAre) {
  const Request request = asked({{"limt", "3"}});
  const Query query(request, {"q", "limit"});
  EXPECT_EQ(query.problem(), "there is no parameter \"limt\" here; did you mean limit? It takes q and limit");
  EXPECT_EQ(Query(request, {}).problem(), "there is no parameter \"limt\" here; this address takes none");
}

TEST(Query, RefusesAParameterThatIsGivenTwice) {
  const Request request = asked({{"q", "R1"}, {"limit", "3"}, {"q", "R1"}});
  EXPECT_EQ(Query(request, {"q", "limit"}).problem(), "q is given twice; once is enough");
}

TEST(Query, RefusesWrongValuesByNameAndReadsNothingAfterwards) {
  for (const auto& [name, value] :
       std::initializer_list<std::pair<std::string, std::string>>{{"limit", "0"},
                                                                  {"limit", "201"},
                                                                  {"limit", "1.0"},
                                                                  {"limit", ""},
                                                                  {"limit", "0x10"},
                                                                  {"limit", "99999999999999999999"},
                                                                  {"since", "today"},
                                                                  {"since", "2026-02-30T00:00:00Z"},
                                                                  {"all", "1"},
                                                                  {"all", ""},
                                                                  {"state", "Parked"},
                                                                  {"q", ""},
                                                                  {"q", "\xff"},
                                                                  {"q", "a\nb"},
                                                                  {"q", "\u202e"},
                                                                  {"q", std::string(201, 'x')}}) {
    const Request request = asked({{name, value}, {"other", "text"}});
    Query query(request, {"q", "since", "all", "limit", "state", "other"});
    query.limit();
    query.text("q");
    query.time("since");
    query.flag("all");
    query.word<model::DeliveryState>("state", model::delivery_state_of, {"waiting", "sent"});
    EXPECT_FALSE(query.is_right()) << name << '=' << value;
    EXPECT_TRUE(query.problem().starts_with(name)) << query.problem();
    EXPECT_EQ(query.text("other"), "");
  }
}

}  // namespace
}  // namespace girdle::api
