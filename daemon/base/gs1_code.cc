#include "base/gs1_code.h"

#include <algorithm>

#include "base/gs1_identifier.h"
#include "base/gs1_link.h"
#include "base/text.h"

namespace girdle::base {
namespace {

constexpr char kSeparator = '\x1D';

constexpr std::string_view kHowToScan =
    "let the scanner send the separator as 0x1D, or the symbology identifier";

constexpr std::string_view kWhatItCouldBe =
    "it is no GS1 code: it begins with no symbology identifier, no application identifier, and no "
    "http address";

Error flawed(const Gs1Identifier& identifier, std::string_view data) {
  return input_error("of " + gs1_in_brackets(identifier.code()) + " \"" + excerpt(data) +
                     "\": " + identifier.fault(data));
}

// False where the identifier is there already with other data.
bool add(Gs1Elements& elements, std::string_view code, std::string_view data) {
  const std::string* const there = gs1_data(elements, code);
  if (there == nullptr) elements.push_back({std::string(code), std::string(data)});
  return there == nullptr || *there == data;
}

Error there_twice(std::string_view code) {
  return input_error("it has " + gs1_in_brackets(code) + " twice, with different data");
}

// Elements one after the other.
class ElementString {
 public:
  // Whether separators that belong there are known to be there.
  ElementString(std::string_view text, bool is_whole) : rest_(text), is_whole_(is_whole) {
    if (rest_.starts_with(kSeparator)) rest_.remove_prefix(1);  // FNC1 in the first place
  }

  Result<Gs1Elements> read() && {
    Gs1Elements elements;
    do {
      const auto identifier = Gs1Identifier::at(rest_);
      if (!identifier) return no_identifier();
      const std::string_view data = take(*identifier);
      if (!is_whole_ && may_hold_more(*identifier, data)) return doubtful(*identifier, data);
      if (!identifier->takes(data)) return flawed(*identifier, data);
      if (!add(elements, identifier->code(), data)) return there_twice(identifier->code());
    } while (!rest_.empty());
    return elements;
  }

 private:
  // A separator that is not needed does no harm.
  std::string_view take(const Gs1Identifier& identifier) {
    rest_.remove_prefix(identifier.code().size());
    size_t size = std::min(rest_.find(kSeparator), rest_.size());
    const bool ends_by_itself =
        identifier.has_predefined_length() || (!is_whole_ && identifier.has_fixed_length());
    if (ends_by_itself) size = std::min(size, identifier.least());
    const std::string_view data = rest_.substr(0, size);
    rest_.remove_prefix(size);
    if (rest_.starts_with(kSeparator)) rest_.remove_prefix(1);
    return data;
  }

  Error no_identifier() const {
    if (rest_.empty()) return input_error("it has no elements");
    return input_error("where \"" + excerpt(rest_, 30) +
                       "\" begins, there is no application identifier of GS1");
  }

  // Whether the data, which reach to the end of the text, may as well be shorter data and further
  // elements.
  static bool may_hold_more(const Gs1Identifier& identifier, std::string_view data) {
    if (identifier.has_fixed_length()) return false;
    // Whether from there on all may be elements.
    std::vector<bool> elements_from(data.size() + 1, false);
    elements_from[data.size()] = true;
    for (size_t at = data.size(); at-- > 1;) {
      const auto next = Gs1Identifier::at(data.substr(at));
      elements_from[at] = next && may_go_on(*next, data.substr(at + next->code().size()),
                                            elements_from.begin() +
                                                static_cast<ptrdiff_t>(at + next->code().size()));
      if (elements_from[at] && identifier.takes(data.substr(0, at))) return true;
    }
    return false;
  }

  // Whether the text may be data of the identifier, and after them elements to its end.
  static bool may_go_on(const Gs1Identifier& identifier, std::string_view text,
                        std::vector<bool>::const_iterator elements_from) {
    const size_t most = std::min(identifier.most(), text.size());
    for (size_t size = identifier.least(); size <= most; ++size) {
      if (elements_from[static_cast<ptrdiff_t>(size)] && identifier.takes(text.substr(0, size)))
        return true;
    }
    return false;
  }

  static Error doubtful(const Gs1Identifier& identifier, std::string_view data) {
    return input_error("of " + gs1_in_brackets(identifier.code()) + " \"" + excerpt(data) +
                       "\": the end may be another element, for there is neither a separator nor "
                       "a symbology identifier; " +
                       std::string(kHowToScan));
  }

  std::string_view rest_;
  bool is_whole_;
};


// The digits at the beginning that stand in brackets, as an identifier does; else empty.
std::string_view bracketed_code(std::string_view text) {
  if (!text.starts_with('(')) return {};
  const size_t end = text.substr(0, 6).find(')');
  if (end == text.npos || end < 3) return {};
  const std::string_view digits = text.substr(1, end - 1);
  return std::all_of(digits.begin(), digits.end(), is_digit) ? digits : std::string_view();
}

std::string_view without_spaces(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

// What people read below a symbol. No data have spaces, so those beside the brackets say nothing.
Result<Gs1Elements> read_bracketed(std::string_view text) {
  Gs1Elements elements;
  while (!text.empty()) {
    const std::string_view code = bracketed_code(text);
    if (code.empty()) return input_error(std::string(kWhatItCouldBe));
    const auto identifier = Gs1Identifier::named(code);
    if (!identifier) {
      return input_error(gs1_in_brackets(code) + " is no application identifier of GS1");
    }
    text.remove_prefix(code.size() + 2);
    size_t end = 0;
    while (end < text.size() && bracketed_code(text.substr(end)).empty()) ++end;
    const std::string_view data = without_spaces(text.substr(0, end));
    if (!identifier->takes(data)) return flawed(*identifier, data);
    if (!add(elements, code, data)) return there_twice(code);
    text.remove_prefix(end);
  }
  return elements;
}

// A number of 13 or 8 digits that has no identifiers in its symbol.
Result<Gs1Elements> read_item_number(std::string_view digits, size_t size) {
  if (digits.size() != size) {
    return input_error("it has " + std::to_string(digits.size()) +
                       " characters after its symbology identifier, and " + std::to_string(size) +
                       " digits stand there");
  }
  const std::string padded = std::string(14 - size, '0') + std::string(digits);
  const auto identifier = Gs1Identifier::named("01");
  if (!identifier->takes(padded)) return flawed(*identifier, padded);
  return Gs1Elements{{"01", padded}};
}

// `symbology` is as ISO/IEC 15424 has it.
Result<Gs1Elements> read_scanned(std::string_view symbology, std::string_view text) {
  constexpr std::string_view kOfGs1[] = {"]C1", "]d2", "]Q3", "]e0", "]J1"};
  if (begins_as_link(text)) return read_gs1_link(text);
  if (symbology == "]E0") return read_item_number(text, 13);
  if (symbology == "]E4") return read_item_number(text, 8);
  if (std::find(std::begin(kOfGs1), std::end(kOfGs1), symbology) != std::end(kOfGs1))
    return ElementString(text, true).read();
  return input_error("its symbology identifier " + excerpt(symbology) +
                     " is not that of a GS1 code, which is " + listed(kOfGs1, "or"));
}

}  // namespace

Result<Gs1Elements> read_gs1(std::string_view text) {
  if (text.size() > kMaxGs1Text) {
    return input_error("it has " + std::to_string(text.size()) + " bytes, and a code at most " +
                       std::to_string(kMaxGs1Text));
  }
  if (text.starts_with(']'))
    return read_scanned(text.substr(0, 3), text.substr(std::min<size_t>(3, text.size())));
  if (begins_as_link(text)) return read_gs1_link(text);
  if (text.starts_with('(')) return read_bracketed(text);
  // Whoever drops separators drops all of them.
  const bool has_separators = text.find(kSeparator) != text.npos;
  if (has_separators || (!text.empty() && is_digit(text.front())))
    return ElementString(text, has_separators).read();
  return input_error(std::string(kWhatItCouldBe));
}

const std::string* gs1_data(const Gs1Elements& elements, std::string_view code) {
  const auto at = std::find_if(elements.begin(), elements.end(),
                               [&](const Gs1Element& element) { return element.code == code; });
  return at == elements.end() ? nullptr : &at->data;
}

}  // namespace girdle::base
