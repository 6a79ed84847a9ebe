// How a document is written: the reader's options, understood.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "delimited/code_page.h"
#include "delimited/encoding.h"
#include "delimited/ignored_lines.h"
#include "girdle/reader.h"

namespace girdle::delimited {

struct Dialect {
  char delimiter = ',';
  std::optional<char> quote = '"';
  std::optional<char> escape;  // only with a quote
  std::optional<char> comment;

  bool header = true;
  uint64_t header_line = 0;               // the header stands there, or is the next row; 0 and 1:
                                          // it is the first row
  std::vector<std::string> header_names;  // the first row that has all of them is the header
  std::vector<std::string> columns;       // only without header; may be empty
  bool number_repeated = false;           // columns of one name get numbers
  bool pad_short = false;                 // fields that a row ends without are empty

  IgnoredLines ignored;
  Encoding encoding = Encoding::kUtf8;
  std::optional<CodePage> page;  // only of kCodePage

  // Nothing, and the reason for a shop's administrator in `refusal`, where the options do not go
  // together.
  static std::optional<Dialect> from(const girdle_reader_setup& setup, std::string& refusal);

  // Whether this character may stand between fields beside the others of this dialect.
  bool can_delimit(char c) const;

  // Whether something may stand before the header.
  bool searches_header() const { return header_line > 1 || !header_names.empty(); }
};

// Tells setups apart whose documents must not be resumed for each other.
uint64_t fingerprint(const girdle_reader_setup& setup);

// The first name that comes twice; nothing where all differ.
std::optional<std::string_view> repeated(const std::vector<std::string>& names);

// Calls the second column of a name `name[2]`, the third `name[3]`.
void number_repeated(std::vector<std::string>& names);

}  // namespace girdle::delimited
