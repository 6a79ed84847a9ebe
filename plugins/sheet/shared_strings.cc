#include "sheet/shared_strings.h"

#include <pugixml.hpp>

#include "sheet/cell_text.h"

namespace girdle::sheet {

std::string SharedStrings::read(const Package& package, const std::string& part,
                                const PartLimits& limits, uint64_t max_bytes) {
  bool too_many = false;
  std::string fault = each_node(package, part, "/sst/si", limits, [&](pugi::xml_node item) {
    append_shown(item, texts_);
    ends_.push_back(texts_.size());
    too_many = texts_.size() + ends_.size() * sizeof(uint64_t) > max_bytes;
    return !too_many;
  });
  if (!too_many) return fault;
  return part + ": its texts are together longer than " + std::to_string(max_bytes) +
         " bytes, eight times the intake's max_record; raise it";
}

std::optional<std::string_view> SharedStrings::at(uint64_t number) const {
  if (number >= ends_.size()) return std::nullopt;
  const uint64_t begin = number == 0 ? 0 : ends_[number - 1];
  return std::string_view(texts_).substr(begin, ends_[number] - begin);
}

}  // namespace girdle::sheet
