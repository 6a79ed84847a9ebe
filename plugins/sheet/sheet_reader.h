// The reader of spreadsheets: rows of a sheet to records. What it takes and what it sets aside:
// README.md.
//
// An archive is read from its end, so the whole document is needed before anything can be read; it
// is kept until then, within a limit.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "kit/maker.h"
#include "kit/output.h"
#include "sheet/sheet_document.h"

namespace girdle::sheet {

class SheetReader {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<SheetReader> create(const girdle_reader_host& host,
                                             const girdle_reader_setup& setup,
                                             std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const { return begin_; }
  std::string_view save();

 private:
  friend class kit::Maker;
  static std::optional<SheetOptions> options(const girdle_reader_setup& setup,
                                             std::string& refusal);

  SheetReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
              SheetOptions options);
  bool resume(std::string_view state);
  void set_aside_while_it_comes(bool whole);
  std::string too_long() const;

  kit::Output out_;
  const SheetOptions options_;
  const uint64_t max_fields_;
  const uint64_t limit_;  // bytes that are kept
  std::string kept_;      // the document so far
  bool long_ = false;     // the document is too long to keep: it is set aside as it comes
  uint64_t fed_ = 0;
  uint64_t begin_ = 0;  // bytes that are done with
  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::sheet
