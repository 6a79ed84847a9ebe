// GS1 codes: what is read is of known identifiers, fits their forms, and is read again from an
// element string and from brackets. From a scanner that drops the separators come the same
// elements, or none.
#include <algorithm>
#include <cstdlib>

#include "base/gs1_code.h"
#include "base/gs1_identifier.h"
#include "base/text.h"

using namespace girdle::base;

namespace {

void hold(bool holds) {
  if (!holds) std::abort();
}

bool has_only(const Gs1Elements& elements) {
  for (const Gs1Element& element : elements) {
    const auto identifier = Gs1Identifier::named(element.code);
    if (!identifier || !identifier->takes(element.data) || !identifier->fault(element.data).empty())
      return false;
    if (gs1_data(elements, element.code) != &element.data) return false;
  }
  return !elements.empty();
}

std::string joined(const Gs1Elements& elements, std::string_view between) {
  std::string text;
  for (const Gs1Element& element : elements) {
    text += element.code + element.data;
    if (!Gs1Identifier::named(element.code)->has_predefined_length()) text += between;
  }
  return text;
}

std::string bracketed(const Gs1Elements& elements) {
  std::string text;
  for (const Gs1Element& element : elements) text += '(' + element.code + ')' + element.data;
  return text;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto elements = read_gs1(text);
  if (!elements) {
    const std::string& why = elements.error().text;
    hold(!why.empty() && why.size() < 600 && is_utf8(why));
    return 0;
  }
  hold(has_only(*elements));
  const auto again = read_gs1("]C1" + joined(*elements, "\x1D"));
  hold(again && *again == *elements);
  const std::string in_brackets = bracketed(*elements);
  if (std::count(in_brackets.begin(), in_brackets.end(), '(') ==
      static_cast<ptrdiff_t>(elements->size())) {
    const auto same = read_gs1(in_brackets);
    hold(same && *same == *elements);
  }
  const auto from_a_wedge = read_gs1(joined(*elements, ""));
  hold(!from_a_wedge || *from_a_wedge == *elements);
  return 0;
}
