#include "astm/options.h"

#include "kit/saved_state.h"
#include "kit/setup.h"

namespace girdle::astm {

namespace {

// One of two words, the first where the option is not given.
bool read_choice(const girdle_reader_setup& setup, const char* name, std::string_view first,
                 std::string_view second, bool& is_first, std::string& refusal) {
  const std::string_view value = kit::option(setup, name);
  is_first = value != second;
  if (value.empty() || value == first || value == second) return true;
  refusal = std::string(name) + ": must be " + std::string(first) + " or " + std::string(second);
  return false;
}

uint64_t fingerprint_of(const girdle_reader_setup& setup) {
  kit::Fingerprint print;
  for (const char* name : {"escapes", "comments", "terminator", "encoding"})
    print.add(kit::option(setup, name));
  return print.value();
}

}  // namespace

std::optional<Options> Options::from(const girdle_reader_setup& setup, std::string& refusal) {
  Options options;
  const bool good =
      read_choice(setup, "escapes", "decode", "keep", options.decodes_escapes, refusal) &&
      read_choice(setup, "comments", "pass", "aside", options.passes_comments, refusal) &&
      read_choice(setup, "terminator", "required", "optional", options.wants_terminator, refusal);
  if (!good) return std::nullopt;
  auto encoding = columns::TextEncoding::from(setup, refusal);
  if (!encoding) return std::nullopt;
  options.encoding = std::move(*encoding);
  options.fingerprint = fingerprint_of(setup);
  return options;
}

}  // namespace girdle::astm
