#include "delimited/dialect.h"

#include <algorithm>

#include "kit/descriptor.h"
#include "kit/saved_state.h"

namespace girdle::delimited {

namespace {

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
  } marks[] = {{"delimiter", delimiter}, {"quote", dialect.quote}, {"comment", dialect.comment}};
  for (const auto& [name, mark] : marks) {
    if (character(kit::option(setup, name), mark)) continue;
    refusal = std::string(name) + ": must be one printable ASCII character, tab or none";
    return false;
  }
  if (!delimiter) {
    refusal = "delimiter: cannot be none; say which character stands between two fields";
    return false;
  }
  dialect.delimiter = *delimiter;
  if (!dialect.can_delimit(dialect.delimiter) ||
      (dialect.quote.has_value() && dialect.quote == dialect.comment)) {
    refusal = "delimiter, quote and comment must be three different characters";
    return false;
  }
  return true;
}

bool read_columns(const girdle_reader_setup& setup, Dialect& dialect, std::string& refusal) {
  const std::string_view header = kit::option(setup, "header");
  if (!header.empty() && header != "yes" && header != "no") {
    refusal = "header: must be yes or no";
    return false;
  }
  dialect.header = header != "no";
  dialect.columns = split(kit::option(setup, "columns"));
  if (dialect.header && !dialect.columns.empty()) {
    refusal = "columns: the first row already names them; say header: no where it does not";
    return false;
  }
  if (const auto name = repeated(dialect.columns)) {
    refusal = "columns: \"" + std::string(*name) + "\" is there twice; each name must differ";
    return false;
  }
  if (dialect.columns.size() > setup.max_fields) {
    refusal = "columns: more than the " + std::to_string(setup.max_fields) +
              " fields that a record may have";
    return false;
  }
  return true;
}

}  // namespace

std::optional<Dialect> Dialect::from(const girdle_reader_setup& setup, std::string& refusal) {
  Dialect dialect;
  if (!read_marks(setup, dialect, refusal) || !read_columns(setup, dialect, refusal))
    return std::nullopt;
  if (const std::string_view name = kit::option(setup, "encoding"); !name.empty()) {
    const std::optional<Encoding> encoding = encoding_named(name);
    if (!encoding) {
      refusal = "encoding: must be utf-8, utf-16, windows-1252 or windows-1251";
      return std::nullopt;
    }
    dialect.encoding = *encoding;
  }
  return dialect;
}

bool Dialect::can_delimit(char c) const { return can_mark(c) && c != quote && c != comment; }

uint64_t Dialect::fingerprint() const {
  const auto mark = [](std::optional<char> c) { return c ? std::string(1, *c) : std::string(); };
  kit::Fingerprint print;
  print.add({&delimiter, 1}).add(mark(quote)).add(mark(comment)).add(header ? "header" : "rows");
  for (const std::string& name : columns) print.add(name);
  print.add(std::to_string(static_cast<int>(encoding)));
  return print.value();
}

std::optional<std::string_view> repeated(const std::vector<std::string>& names) {
  std::vector<std::string_view> sorted(names.begin(), names.end());
  std::sort(sorted.begin(), sorted.end());
  const auto twice = std::adjacent_find(sorted.begin(), sorted.end());
  if (twice == sorted.end()) return std::nullopt;
  return *twice;
}

}  // namespace girdle::delimited
