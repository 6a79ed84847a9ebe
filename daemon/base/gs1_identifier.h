// The application identifiers of the GS1 General Specifications (section 3): which there are, and
// what the data of each may be.
//
// Looked at are lengths, characters, check digits and check characters. Not looked at are dates,
// countries, currencies, and the prefixes of companies: whether such a number was ever given out,
// no text tells.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace girdle::base {

struct Gs1Row;

class Gs1Identifier {
 public:
  // With which the text begins. None is the beginning of another one.
  static std::optional<Gs1Identifier> at(std::string_view text);
  // Of the whole text.
  static std::optional<Gs1Identifier> named(std::string_view text);

  // Two to four digits; lies in this object.
  std::string_view code() const { return {code_.data(), size_}; }
  // Whether its end is known without a separator, to all readers and for ever (General
  // Specifications, 7.8.5).
  bool has_predefined_length() const;
  // Whether its last digit says where a decimal point stands that its data do not show.
  bool has_implied_decimal_point() const;
  // Characters that its data have.
  size_t least() const;
  size_t most() const;
  bool has_fixed_length() const { return least() == most(); }

  // Whether these can be its data.
  bool takes(std::string_view data) const;
  // What is wrong with data that it does not take, and what would be right: "its check digit is 9
  // and should be 8".
  std::string fault(std::string_view data) const;

  // Of a GS1 Digital Link URI (URI Syntax standard): what may identify the whole thing, with what
  // may stand after it in the path, in sequences of which one holds; and what may stand in the
  // query.
  bool is_link_key() const;
  std::span<const std::span<const std::string_view>> link_qualifiers() const;
  bool may_be_link_attribute() const;

 private:
  Gs1Identifier(const Gs1Row& row, std::string_view code) : row_(&row), size_(code.size()) {
    code.copy(code_.data(), code_.size());
  }

  const Gs1Row* row_;
  std::array<char, 4> code_{};
  size_t size_;
};

// "(21)", for texts.
std::string gs1_in_brackets(std::string_view code);

}  // namespace girdle::base
