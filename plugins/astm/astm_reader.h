// The reader of messages after ASTM E1394 (CLSI LIS02). What it takes and what it sets aside:
// README.md.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "astm/message.h"
#include "astm/options.h"
#include "astm/record_fields.h"
#include "columns/text_lines.h"
#include "kit/maker.h"
#include "kit/output.h"

namespace girdle::astm {

class AstmReader final : private columns::LineTaker {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<AstmReader> create(const girdle_reader_host& host,
                                            const girdle_reader_setup& setup, std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const { return lines_.begin(); }
  std::string_view save();

 private:
  friend class kit::Maker;
  AstmReader(const girdle_reader_host& host, const girdle_reader_setup& setup, Options options);
  bool resume(std::string_view state);

  void take_line(const columns::TextLine& line) override;
  void take_piece(const columns::LinePiece& piece) override;
  void end_long_line(bool) override {}
  bool is_whole_terminator(std::string_view text) const;
  void header(const columns::TextLine& line);
  void in_message(const columns::TextLine& line);
  void enclosing(const columns::TextLine& line, Message::Level level);
  void result(const columns::TextLine& line);
  void terminator(const columns::TextLine& line);
  void emit(const columns::TextLine& line);
  void no_record(const columns::TextLine& line, std::string_view reason);
  void aside(const columns::TextLine& line, std::string_view reason);
  void tell_missing_end(uint64_t offset, uint64_t line);

  kit::Output out_;
  const Options options_;
  const uint64_t most_fields_;
  columns::TextLines lines_;
  Message message_;
  RecordFields fields_;  // of the R record at hand
  bool is_finishing_ = false;
  std::vector<girdle_text> names_;
  std::vector<girdle_text> values_;
  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::astm
