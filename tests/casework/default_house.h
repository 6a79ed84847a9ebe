// A house with the default policy and no instruments.
#pragma once

#include <variant>

#include "casework/decide.h"
#include "casework/house.h"

namespace girdle::casework {

inline House default_house() {
  auto compiled = compile_table(default_table());
  House house{.stamp = {"default", "1", "sha256:test"},
              .table = std::get<policy::Table>(std::move(compiled)),
              .fact_places = {},
              .instruments = {},
              .reason_texts = {}};
  house.fact_places = fact_places(house.table);
  return house;
}

}  // namespace girdle::casework
