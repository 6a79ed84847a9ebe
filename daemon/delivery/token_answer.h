// The answer of a token endpoint of OAuth 2.0 (RFC 6749 5.1 and 5.2).
#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "base/result.h"
#include "delivery/answer_parser.h"
#include "delivery/blanks.h"

namespace girdle::delivery {

struct Token {
  std::string text;  // visible ASCII
  std::optional<std::chrono::seconds>
      lives;  // not negative, at most a year; nothing: the endpoint does not say
};

// The token of type Bearer, or why there is none: for a person, without any of the secrets and
// without the token.
base::Result<Token> read_token(const Answer& answer, const Blanks& secrets);

}  // namespace girdle::delivery
