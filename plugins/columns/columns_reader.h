// The reader of lines with fields at fixed positions. What it takes and what it sets aside:
// README.md.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "columns/carried.h"
#include "columns/layout.h"
#include "columns/line_fields.h"
#include "columns/text_lines.h"
#include "kit/maker.h"
#include "kit/output.h"

namespace girdle::columns {

// The reader's options, understood.
struct Options {
  Layout layout;
  Measure measure;
  TextEncoding encoding;
  uint64_t fingerprint = 0;  // tells options apart

  // Nothing, and the reason for a shop's administrator in `refusal`, where they are wrong.
  static std::optional<Options> from(const girdle_reader_setup& setup, std::string& refusal);
};

class ColumnsReader final : private LineTaker {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<ColumnsReader> create(const girdle_reader_host& host,
                                               const girdle_reader_setup& setup,
                                               std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const { return lines_.begin(); }
  std::string_view save();

 private:
  friend class kit::Maker;
  ColumnsReader(const girdle_reader_host& host, const girdle_reader_setup& setup, Options options);
  bool resume(std::string_view state);

  void take_line(const TextLine& line) override;
  void take_piece(const LinePiece& piece) override;
  void end_long_line(bool) override {}
  void of_no_kind(const TextLine& line, std::string_view reason);
  void of_kind(const TextLine& line, size_t index);
  void emit(const TextLine& line, size_t index);
  std::string kinds() const;

  kit::Output out_;
  const Options options_;
  TextLines lines_;
  LineFields fields_;
  Carried carried_;
  std::vector<std::vector<girdle_text>> names_;  // of a record, for each kind
  std::vector<girdle_text> values_;
  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::columns
