// The table of routes: how a request finds its one, and that schemas/openapi.yaml has the same.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <set>
#include <tuple>

#include "api/route.h"
#include "api/shop.h"

namespace girdle::api {
namespace {

using testing::ElementsAre;

TEST(FindRoute, GivesWhatStandsInThePlaceOfNames) {
  const Request request = get("/api/v1/subjects/R2001%232");
  const Found found = find_route(routes(), request);
  ASSERT_NE(found.route, nullptr);
  EXPECT_EQ(found.route->pattern, "/api/v1/subjects/{key}");
  EXPECT_THAT(found.parts, ElementsAre("R2001#2"));
}

TEST(FindRoute, TellsTheMethodsOfAnAddress) {
  Request request = get("/api/v1/intakes/till");
  request.method = Method::kDelete;
  const Found found = find_route(routes(), request);
  EXPECT_EQ(found.route, nullptr);
  EXPECT_EQ(found.status, 405);
  EXPECT_EQ(found.allowed, "GET, POST");
}

TEST(FindRoute, KnowsNoAddressesBesides) {
  for (const char* address : {"/", "/api", "/api/v1", "/api/v2/cases", "/api/v1/cases/a/b", "/api/v1/{id}",
                              "/api/v1/cases/x/decisions/y", "/API/v1/cases", "/health"}) {
    const Found found = find_route(routes(), get(address));
    EXPECT_EQ(found.route, nullptr) << address;
    EXPECT_EQ(found.status, 404) << address;
  }
}

using Told = std::tuple<std::string, std::string, std::string>;  // path, method, role

std::set<Told> of_the_table() {
  std::set<Told> told;
  for (const Route& route : routes()) told.emplace(route.pattern, text(route.method), text(route.role));
  return told;
}

std::set<Told> of_the_document() {
  std::set<Told> told;
  const YAML::Node document = YAML::LoadFile(GIRDLE_SOURCE_DIR "/schemas/openapi.yaml");
  for (const auto& path : document["paths"]) {
    for (const auto& method : path.second) {
      std::string name = method.first.as<std::string>();
      for (char& c : name) c = static_cast<char>(c - 'a' + 'A');
      told.emplace(path.first.as<std::string>(), name, method.second["x-role"].as<std::string>());
    }
  }
  return told;
}

TEST(Routes, AreThoseOfTheDocument) {
  EXPECT_EQ(of_the_table(), of_the_document());
  EXPECT_EQ(of_the_table().size(), routes().size());
}

// A wrong word in this table lets somebody do what they should not: it stands here once more, by hand.
TEST(Routes, LetNobodyDoWhatTheyShouldNot) {
  for (const Route& route : routes()) {
    const bool looks = route.method == Method::kGet;
    if (looks) {
      EXPECT_EQ(route.most_body, 0u) << route.pattern;
      EXPECT_EQ(route.deed, nullptr) << route.pattern;
    } else {
      EXPECT_EQ(route.read, nullptr) << route.pattern;
      EXPECT_EQ(route.standing, nullptr) << route.pattern;
    }
    const bool is_public = route.pattern == "/api/v1/session" || route.pattern.starts_with("/health/");
    if (!is_public) {
      EXPECT_GE(route.role, looks ? Role::kLook : Role::kWork) << route.pattern;
    }
    EXPECT_LE((route.read != nullptr) + (route.standing != nullptr) + (route.deed != nullptr), 1) << route.pattern;
  }
  for (const char* pattern : {"/api/v1/outlets/{name}/pause", "/api/v1/outlets/{name}/resume", "/api/v1/resends"}) {
    const auto route = std::ranges::find(routes(), std::string_view(pattern), &Route::pattern);
    ASSERT_NE(route, routes().end());
    EXPECT_EQ(route->role, Role::kAdmin) << pattern;
  }
}

}  // namespace
}  // namespace girdle::api
