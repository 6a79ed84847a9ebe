// UUIDs made of names (RFC 9562 5.5, version 5): the same name gives the same UUID, today and after
// a restart.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace girdle::delivery {

using Uuid = std::array<uint8_t, 16>;

// As text, "2ed6657d-e927-568b-95e1-2665a8aea6a2". Names of two name spaces never meet.
std::string name_uuid(const Uuid& name_space, std::string_view name);

}  // namespace girdle::delivery
