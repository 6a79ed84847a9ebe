// URIs as texts (RFC 3986): telling one, and putting a text of ours into one.
#pragma once

#include <string>
#include <string_view>

#include "base/percent.h"
#include "base/result.h"

namespace girdle::delivery {

using base::percent_encoded;

// An absolute URI, with a scheme, in characters that need no encoding. Which schemes there are, and
// what they make of the rest, is not looked at.
bool is_uri(std::string_view text);

// A URI with a place for a text: "https://quay-street.example/stock/{stock_number}".
class UriPattern {
 public:
  // `place` is what stands between the braces. The error says what is wrong with the text and what
  // would be right.
  static base::Result<UriPattern> compile(std::string_view text, std::string_view place);

  // With the value there, percent-encoded.
  std::string with(std::string_view value) const;

 private:
  UriPattern(std::string_view before, std::string_view after) : before_(before), after_(after) {}
  std::string before_, after_;
};

}  // namespace girdle::delivery
