// Rules as a configuration would give them, for tests of what stands behind it.
#pragma once

#include <memory>

#include "casework/default_house.h"
#include "service/recorder.h"

namespace girdle::service {

inline Rules rules_of(const casework::HouseSpec& spec) {
  casework::BuiltHouse built = casework::built(spec);
  return {std::make_shared<const casework::House>(std::move(built.house)), std::move(built.rules), {}, "", ""};
}

inline Adoption adoption_of(const casework::HouseSpec& spec, std::vector<std::string> outlets) {
  return {rules_of(spec), std::nullopt, std::move(outlets)};
}

}  // namespace girdle::service
