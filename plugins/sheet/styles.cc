#include "sheet/styles.h"

#include <map>
#include <pugixml.hpp>

#include "sheet/whole_number.h"

namespace girdle::sheet {

namespace {

constexpr size_t kMost = 65'536;  // common practice: spreadsheet programs have fewer

// 18.8.45: a style that names no format has the general one. Nothing where it names none that is a
// number.
std::optional<uint64_t> format_id(pugi::xml_node element) {
  const std::string_view text = attribute(element, "numFmtId");
  return text.empty() ? 0 : whole_number(text);
}

}  // namespace

std::string Styles::read(const Package& package, const std::string& part,
                         const PartLimits& limits) {
  known_ = true;
  std::map<uint64_t, NumberKind> custom;
  std::string fault =
      each_node(package, part, "/styleSheet/numFmts/numFmt", limits, [&](pugi::xml_node format) {
        if (const auto id = format_id(format))
          custom[*id] = number_kind(attribute(format, "formatCode"));
        return custom.size() <= kMost;
      });
  if (!fault.empty()) return fault;
  fault = each_node(package, part, "/styleSheet/cellXfs/xf", limits, [&](pugi::xml_node format) {
    const std::optional<uint64_t> id = format_id(format);
    const auto found = id ? custom.find(*id) : custom.end();
    std::optional<NumberKind>& kind = kinds_.emplace_back();
    if (id) kind = found == custom.end() ? built_in_kind(*id) : found->second;
    return kinds_.size() <= kMost;
  });
  if (fault.empty() && (custom.size() > kMost || kinds_.size() > kMost))
    return part + ": more than " + std::to_string(kMost) + " styles";
  return fault;
}

std::optional<NumberKind> Styles::kind(uint64_t style) const {
  if (!known_) return NumberKind::kNumber;
  if (style >= kinds_.size()) return std::nullopt;
  return kinds_[style];
}

}  // namespace girdle::sheet
