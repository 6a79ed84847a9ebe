#include <cstdint>
#include <string_view>

#include "plugins/fuzzed.h"
#include "plugins/sheet/workbook_file.h"
#include "sheet/sheet_reader.h"

namespace {

// A document that is no archive is taken for the parts of one, with a NUL between them: rows, what
// follows them, a shared string, a style's format, the workbook's properties. Mutations of packed
// bytes seldom come so far.
std::string packed(std::string_view document) {
  girdle::sheet::Book book;
  std::string* const pieces[] = {&book.rows, &book.after_rows, &book.strings.emplace_back(),
                                 &book.formats, &book.properties};
  for (std::string* piece : pieces) {
    *piece = document.substr(0, document.find('\0'));
    document.remove_prefix(std::min(piece->size() + 1, document.size()));
  }
  book.styles = {"0", "164", "14", "20", "46", "34"};
  return girdle::sheet::workbook(book);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::vector<girdle::plugins_test::Options> kChoices = {
      {{"max_ratio", "20"}},
      {{"header", "0"}, {"numbers", "shortest"}},
      {{"header", "2"}, {"sheet", "Stones"}},
      {{"max_bytes", "3000"}, {"max_entries", "20"}, {"max_inflated", "100000"}}};
  std::string input(reinterpret_cast<const char*>(data), size);
  if (!input.starts_with("PK")) input = packed(input);
  girdle::plugins_test::fuzz(girdle::sheet::descriptor(), input, kChoices);
  return 0;
}
