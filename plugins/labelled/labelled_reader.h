// The reader of printed slips: labels and values, a line each. What it takes and what it sets
// aside: README.md.
//
// A slip is known to be one only at its end, so its bytes are done with only then. One that grows
// over the limit is set aside while it comes; its lines are still looked at, for its end.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "columns/text_lines.h"
#include "kit/maker.h"
#include "kit/output.h"
#include "labelled/label_rules.h"
#include "labelled/pattern.h"
#include "labelled/slip.h"

namespace girdle::labelled {

// The reader's options, understood.
struct Options {
  LabelRules labels;
  Patterns end;        // lines that end a slip
  uint64_t lines = 0;  // as many lines are a slip; 0 = no matter how many
  bool form_feed = true;
  bool unended_is_record = false;
  Patterns ignore;
  bool continued = false;  // lines that are indented go on with the value before them
  Fold fold;
  columns::TextEncoding encoding;
  uint64_t fingerprint = 0;  // tells options apart

  // Nothing, and the reason for a shop's administrator in `refusal`, where they are wrong.
  static std::optional<Options> from(const girdle_reader_setup& setup, std::string& refusal);
};

class LabelledReader final : private columns::LineTaker {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<LabelledReader> create(const girdle_reader_host& host,
                                                const girdle_reader_setup& setup,
                                                std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const;
  std::string_view save();

 private:
  friend class kit::Maker;
  enum class Line { kBlank, kIgnored, kEnd, kContent };

  LabelledReader(const girdle_reader_host& host, const girdle_reader_setup& setup, Options options);
  bool resume(std::string_view state);

  void take_line(const columns::TextLine& line) override;
  void take_piece(const columns::LinePiece& piece) override;
  void end_long_line(bool ends_page) override;

  Line kind_of(const columns::TextLine& line, std::string_view text) const;
  void take_content(const columns::TextLine& line, std::string_view text);
  std::optional<std::string> take_fields(const columns::TextLine& line, std::string_view text);
  void begin_slip(uint64_t offset, uint64_t line);
  void grow_to(uint64_t end);
  void line_ended(bool slip_ends, bool page_ends);
  void end_slip();
  void emit();
  void too_few_lines();

  kit::Output out_;
  Options options_;
  columns::TextLines lines_;
  Slip slip_;

  uint64_t fed_ = 0;
  uint64_t skipped_ = 0;     // bytes at the beginning that lines_ had before this reader
  uint64_t line_count_ = 0;  // lines since the last slip
  bool finished_ = false;

  // The slip at hand.
  bool open_ = false;
  bool long_ = false;   // over the limit; set aside as it comes
  uint64_t begin_ = 0;  // of the slip, or, where it is long, of what is not yet aside
  uint64_t end_ = 0;    // of its last line that is not blank and not ignored
  uint64_t first_line_ = 0;
  uint64_t lines_before_ = 0;     // line_count_ where it began
  std::string fault_;             // why it is none; the first fault counts
  std::optional<size_t> indent_;  // of the last line with a label, where a line may go on with it

  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::labelled
