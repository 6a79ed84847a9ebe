#include "api/route.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>

namespace girdle::api {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

const std::array<Route, 5> kTable = {{
    {.method = Method::kGet, .pattern = "/api/v1/cases"},
    {.method = Method::kGet, .pattern = "/api/v1/cases/{id}"},
    {.method = Method::kPost, .pattern = "/api/v1/cases/{id}/decisions"},
    {.method = Method::kGet, .pattern = "/api/v1/session"},
    {.method = Method::kPost, .pattern = "/api/v1/session"},
}};

Request request(Method method, std::vector<std::string> path) {
  Request asked;
  asked.method = method;
  asked.path = std::move(path);
  return asked;
}

TEST(FindRoute, FindsARouteByItsPathAndMethod) {
  const Request asked = request(Method::kGet, {"api", "v1", "cases"});
  const Found found = find_route(kTable, asked);
  EXPECT_EQ(found.route, &kTable[0]);
  EXPECT_THAT(found.parts, IsEmpty());
}

TEST(FindRoute, GivesWhatStandsInThePlaceOfNames) {
  const Request one = request(Method::kGet, {"api", "v1", "cases", "a-1"});
  const Found found = find_route(kTable, one);
  EXPECT_EQ(found.route, &kTable[1]);
  EXPECT_THAT(found.parts, ElementsAre("a-1"));
  const Request two = request(Method::kPost, {"api", "v1", "cases", "{id}", "decisions"});
  EXPECT_EQ(find_route(kTable, two).route, &kTable[2]);
}

TEST(FindRoute, TellsWhatIsNotThere) {
  for (const auto& path : std::vector<std::vector<std::string>>{{},
                                                                {"api"},
                                                                {"api", "v1"},
                                                                {"api", "v1", "case"},
                                                                {"api", "v1", "cases", "a", "b"},
                                                                {"API", "v1", "cases"},
                                                                {"api", "v1", "cases", "a", "decisions", "x"}}) {
    const Request asked = request(Method::kGet, path);
    const Found found = find_route(kTable, asked);
    EXPECT_EQ(found.route, nullptr);
    EXPECT_EQ(found.status, 404);
  }
}

TEST(FindRoute, TellsWhichMethodsThereAre) {
  const Request one = request(Method::kDelete, {"api", "v1", "session"});
  const Found found = find_route(kTable, one);
  EXPECT_EQ(found.status, 405);
  EXPECT_EQ(found.route, nullptr);
  EXPECT_EQ(found.allowed, "GET, POST");
  const Request two = request(Method::kGet, {"api", "v1", "cases", "a", "decisions"});
  EXPECT_EQ(find_route(kTable, two).allowed, "POST");
}

}  // namespace
}  // namespace girdle::api
