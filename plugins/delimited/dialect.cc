#include "delimited/dialect.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::delimited {

namespace {

constexpr uint64_t kMostHeaderLine = 1000;

// A mark of a dialect is a printable ASCII character or a tab: it is one byte in every encoding
// that is read.
bool can_mark(char c) { return c == '\t' || (c >= ' ' && c <= '~'); }

// The character that an option names: itself, "tab", "\t", or "none". False for anything else.
bool character(std::string_view text, std::optional<char>& out) {
  if (text.empty()) return true;  // not given: the default stays
  if (text == "none") {
    out.reset();
    return true;
  }
  if (text == "tab" || text == "\\t") text = "\t";
  if (text.size() != 1 || !can_mark(text[0])) return false;
  out = text[0];
  return true;
}

std::vector<std::string> split(std::string_view list) {
  std::vector<std::string> names;
  while (!list.empty()) {
    const size_t comma = std::min(list.find(','), list.size());
    std::string_view name = list.substr(0, comma);
    while (name.starts_with(' ')) name.remove_prefix(1);
    while (name.ends_with(' ')) name.remove_suffix(1);
    names.emplace_back(name);
    list.remove_prefix(std::min(comma + 1, list.size()));
  }
  return names;
}

bool read_marks(const girdle_reader_setup& setup, Dialect& dialect, std::string& refusal) {
  std::optional<char> delimiter = dialect.delimiter;
  const struct {
    const char* name;
    std::optional<char>& mark;
  } marks[] = {{"delimiter", delimiter},
               {"quote", dialect.quote},
               {"escape", dialect.escape},
               {"comment", dialect.comment}};
  std::vector<char> given;
  for (const auto& [name, mark] : marks) {
    if (!character(kit::option(setup, name), mark)) {
      refusal = std::string(name) + ": must be one printable ASCII character, tab or none";
      return false;
    }
    if (mark) given.push_back(*mark);
  }
  if (!delimiter) {
    refusal = "delimiter: cannot be none; say which character stands between two fields";
    return false;
  }
  dialect.delimiter = *delimiter;
  if (dialect.escape && !dialect.quote) {
    refusal = "escape: has no meaning with quote: none, because it stands before quotes";
    return false;
  }
  std::sort(given.begin(), given.end());
  if (std::adjacent_find(given.begin(), given.end()) == given.end()) return true;
  refusal = dialect.escape
                ? "delimiter, quote, escape and comment must be four different characters"
                : "delimiter, quote and comment must be three different characters";
  return false;
}

// One of two words, the first where the option is not given.
bool read_choice(const girdle_reader_setup& setup, const char* name, std::string_view first,
                 std::string_view second, bool& is_second, std::string& refusal) {
  const std::string_view value = kit::option(setup, name);
  is_second = value == second;
  if (value.empty() || value == first || is_second) return true;
  refusal = std::string(name) + ": must be " + std::string(first) + " or " + std::string(second);
  return false;
}

bool read_names(const girdle_reader_setup& setup, const char* option,
                std::vector<std::string>& names, std::string& refusal) {
  names = split(kit::option(setup, option));
  if (const auto name = repeated(names)) {
    refusal = std::string(option) + ": \"" + std::string(*name) +
              "\" is there twice; each name must differ";
    return false;
  }
  if (names.size() <= setup.max_fields) return true;
  refusal = std::string(option) + ": more than the " + std::to_string(setup.max_fields) +
            " fields that a record may have";
  return false;
}

bool read_header_line(const girdle_reader_setup& setup, Dialect& dialect, std::string& refusal) {
  const std::string_view text = kit::option(setup, "header_line");
  if (text.empty()) return true;
  const char* const end = text.data() + text.size();
  const auto [after, error] = std::from_chars(text.data(), end, dialect.header_line);
  if (error == std::errc() && after == end && dialect.header_line <= kMostHeaderLine) return true;
  refusal = "header_line: must be the number of a line, from 1 to " +
            std::to_string(kMostHeaderLine) + ", or 0 for the first row";
  return false;
}

bool read_header(const girdle_reader_setup& setup, Dialect& dialect, std::string& refusal) {
  bool without = false;
  if (!read_choice(setup, "header", "yes", "no", without, refusal)) return false;
  dialect.header = !without;
  if (!read_choice(setup, "repeated", "refuse", "number", dialect.number_repeated, refusal) ||
      !read_header_line(setup, dialect, refusal) ||
      !read_names(setup, "header_names", dialect.header_names, refusal) ||
      !read_names(setup, "columns", dialect.columns, refusal)) {
    return false;
  }
  if (dialect.header && !dialect.columns.empty()) {
    refusal = "columns: the header already names them; say header: no where there is none";
  } else if (!dialect.header && dialect.searches_header()) {
    refusal = "header_line, header_names: have no meaning with header: no";
  } else if (dialect.header_line > 0 && !dialect.header_names.empty()) {
    refusal = "header_line, header_names: one of them is enough to find the header";
  }
  return refusal.empty();
}

bool read_encoding(const girdle_reader_setup& setup, Dialect& dialect, std::string& refusal) {
  const std::string_view name = kit::option(setup, "encoding");
  if (name.empty()) return true;
  if (const std::optional<Encoding> encoding = encoding_named(name)) {
    dialect.encoding = *encoding;
    return true;
  }
  dialect.encoding = Encoding::kCodePage;
  dialect.page = CodePage::named(name);
  if (dialect.page) return true;
  refusal =
      "encoding: must be one that the reader's README names, such as utf-8, windows-1252 or "
      "gb18030";
  return false;
}

}  // namespace

std::optional<Dialect> Dialect::from(const girdle_reader_setup& setup, std::string& refusal) {
  Dialect dialect;
  if (!read_marks(setup, dialect, refusal) || !read_header(setup, dialect, refusal) ||
      !read_choice(setup, "short", "aside", "pad", dialect.pad_short, refusal) ||
      !read_encoding(setup, dialect, refusal)) {
    return std::nullopt;
  }
  std::optional<IgnoredLines> ignored = IgnoredLines::from(kit::option(setup, "ignore"), refusal);
  if (!ignored) return std::nullopt;
  dialect.ignored = std::move(*ignored);
  return dialect;
}

bool Dialect::can_delimit(char c) const {
  return can_mark(c) && c != quote && c != escape && c != comment;
}

uint64_t fingerprint(const girdle_reader_setup& setup) {
  kit::Fingerprint print;
  for (const char* name : {"delimiter", "quote", "escape", "comment", "header", "header_line",
                           "header_names", "repeated", "columns", "short", "ignore", "encoding"}) {
    print.add(kit::option(setup, name));
  }
  return print.value();
}

std::optional<std::string_view> repeated(const std::vector<std::string>& names) {
  std::vector<std::string_view> sorted(names.begin(), names.end());
  std::sort(sorted.begin(), sorted.end());
  const auto twice = std::adjacent_find(sorted.begin(), sorted.end());
  if (twice == sorted.end()) return std::nullopt;
  return *twice;
}

void number_repeated(std::vector<std::string>& names) {
  std::map<std::string, size_t> seen;
  for (std::string& name : names) {
    const size_t number = ++seen[name];
    if (number > 1) name += "[" + std::to_string(number) + "]";
  }
}

}  // namespace girdle::delimited
