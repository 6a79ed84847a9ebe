// The lines of a text document, as they come, with their places. For readers whose records are
// lines, or stretches of lines; the reader `labelled` uses it too.
//
// A line ends at LF, CR, CR LF or a form feed. Offsets, lengths and the limit are source bytes:
// those that were fed. Text is UTF-8, decoded strictly by the encodings of the reader `delimited`.
//
// Not thread-safe; one for each reader. What is lent to a LineTaker is lent for the call.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "columns/text_encoding.h"
#include "columns/widths.h"
#include "delimited/source_text.h"
#include "kit/output.h"
#include "kit/saved_state.h"

namespace girdle::columns {

struct TextLine {
  std::string_view text;   // without its end; empty where there is a fault
  std::string_view fault;  // why the bytes are no text of the encoding; empty where they are
  uint64_t offset = 0;
  uint64_t length = 0;     // without its end
  uint64_t number = 0;     // from 1; a form feed begins a line and counts none
  Widths bytes;            // of the document, for each character
  bool ends_page = false;  // a form feed ended it
};

// A part of a line that is longer than the limit; such a line has no text.
struct LinePiece {
  uint64_t offset = 0;
  uint64_t length = 0;
  uint64_t number = 0;  // the line's
};

class LineTaker {
 public:
  virtual void take_line(const TextLine& line) = 0;
  virtual void take_piece(const LinePiece& piece) = 0;
  // The line whose pieces came has ended.
  virtual void end_long_line(bool ends_page) = 0;

 protected:
  ~LineTaker() = default;
};

class TextLines {
 public:
  // `out` and `taker` live longer than this. A document that cannot be read in any encoding is set
  // aside through `out`; all else goes to `taker`. TextLine::bytes is only right with `widths`.
  TextLines(kit::Output& out, LineTaker& taker, const TextEncoding& configured,
            bool widths = false);

  void feed(std::string_view bytes);
  // The document ends, and with it a line that has no end of its own.
  void finish();

  // All before it was told, or is an end of a line. Inside a long line: where its next piece
  // begins.
  uint64_t begin() const { return begin_; }
  // Nothing is known yet; begin() is 0 and there is nothing to save.
  bool at_head() const { return mode_ == Mode::kHead; }

  // What a later one needs to go on at begin().
  void save(kit::StateWriter& state) const;
  // The same for the beginning of the line `number`, which was told.
  void save_at_line(kit::StateWriter& state, uint64_t number) const;
  // Goes on where save() was called; the next byte fed is the one at `offset` of this reader.
  // False: the state is none.
  bool resume(kit::StateParser& state, uint64_t offset);

 private:
  // The numbers are in saved states.
  enum class Mode {
    kHead,     // the encoding is not known yet
    kBetween,  // before a line
    kLine,     // inside a line that is kept
    kLong,     // inside a line that is too long to keep
    kRest,     // no encoding fits: the rest of the document is set aside
  };
  enum class RestReason { kNoByteOrderMark, kUtf32 };

  void take_head(std::string_view bytes, bool whole);
  void begin_text(const delimited::ByteOrderMark& mark);
  void take_source(std::string_view bytes);
  void take(std::string_view text);
  std::string_view before_line(std::string_view text);
  std::string_view in_line(std::string_view text);
  size_t room(std::string_view text) const;
  void keep_widths(std::string_view part);
  Widths widths(size_t size) const;
  void tell_piece();
  void line_ended(std::string_view last_part, bool ends_page);
  void tell_line(std::string_view text, bool ends_page);
  void set_rest_aside(bool whole);
  void save_as(kit::StateWriter& state, Mode mode, uint64_t number, bool after_cr) const;

  kit::Output& out_;
  LineTaker& taker_;
  const TextEncoding configured_;
  const bool keeps_widths_;

  Mode mode_ = Mode::kHead;
  RestReason rest_reason_ = RestReason::kNoByteOrderMark;
  delimited::SourceText source_;
  std::string head_;       // first bytes, while they may become a byte order mark
  std::string kept_;       // of the line at hand, from feeds before this one
  std::string widths_;     // of the line at hand, where there is a decoder
  std::string rewritten_;  // the line at hand, from a single-byte encoding
  bool after_cr_ = false;  // an LF now belongs to the line end before it
  uint64_t number_ = 1;    // of the line at hand, or the next
  uint64_t fed_ = 0;
  uint64_t begin_ = 0;  // of the line at hand or its part not yet told; else of what comes next
  uint64_t line_bytes_ = 0;  // source bytes looked at from begin_ on
};

// Why no line of printed text holds this: a control character other than a tab. Nothing where there
// is none.
std::optional<std::string> control_fault(std::string_view text);

// At most 40 bytes of `text` between quotes, cut between characters, for a reason.
std::string excerpt(std::string_view text);

// The text without spaces and tabs at either end.
std::string_view without_outer_blanks(std::string_view text);

}  // namespace girdle::columns
