// How a document is written: the reader's options, understood.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "delimited/encoding.h"
#include "girdle/reader.h"

namespace girdle::delimited {

struct Dialect {
  char delimiter = ',';
  std::optional<char> quote = '"';
  std::optional<char> comment;
  bool header = true;
  std::vector<std::string> columns;  // only without header; may be empty
  Encoding encoding = Encoding::kUtf8;

  // Nothing, and the reason for a shop's administrator in `refusal`, where the options do not go
  // together.
  static std::optional<Dialect> from(const girdle_reader_setup& setup, std::string& refusal);

  // Whether this character may stand between fields beside the others of this dialect.
  bool can_delimit(char c) const;

  // Tells dialects apart.
  uint64_t fingerprint() const;
};

// The first name that comes twice; nothing where all differ.
std::optional<std::string_view> repeated(const std::vector<std::string>& names);

}  // namespace girdle::delimited
