#include "reading/gs1_value.h"

#include <vector>

#include "base/gs1_code.h"
#include "base/gs1_identifier.h"
#include "base/text.h"

namespace girdle::reading {
namespace {

using base::listed;

std::vector<std::string> in_brackets(std::span<const std::string> codes) {
  std::vector<std::string> out;
  for (const std::string& code : codes) out.push_back(base::gs1_in_brackets(code));
  return out;
}

std::string none_of(std::span<const std::string> identifiers, const base::Gs1Elements& elements) {
  std::vector<std::string> there;
  for (const base::Gs1Element& element : elements) there.push_back(element.code);
  return "which has no " + listed(in_brackets(identifiers), "or") +
         ", as the mapping wants; it has " + base::excerpt(listed(in_brackets(there), "and"), 200);
}

}  // namespace

bool take_gs1(std::string_view text, std::span<const std::string> identifiers, std::string& taken,
              std::string& reason) {
  reason = "holds \"" + base::excerpt(text, 120) + "\"";
  const auto elements = base::read_gs1(text);
  if (!elements) {
    reason += ": " + elements.error().text;
    return false;
  }
  for (const std::string& identifier : identifiers) {
    const std::string* const data = base::gs1_data(*elements, identifier);
    if (data == nullptr) continue;
    taken = *data;
    reason.clear();
    return true;
  }
  reason += ", " + none_of(identifiers, *elements);
  return false;
}

}  // namespace girdle::reading
