// Finds the fields and the end of one row (RFC 4180), piece by piece: the row need not lie in one
// place.
//
// A double quote that opens a field makes delimiters and line ends part of it until the quote that
// closes it; two in it stand for one. A quote elsewhere is a fault of the row; the scanner takes it
// as an ordinary character and goes on, so that one inch mark costs one row and not the rest of the
// document.
//
// An escape, where there is one, makes a quote or an escape behind it, inside quotes, part of the
// field; before anything else, and outside of quotes, it is an ordinary character.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

namespace girdle::delimited {

struct FieldSpan {
  uint32_t begin;  // from the row's beginning, inside the quotes
  uint32_t end;
  bool escaped;  // holds doubled or escaped quotes, or escapes
};

enum class RowFault { kNone, kQuoteInField, kTextAfterQuote, kUnclosedQuote };

class RowScanner {
 public:
  // Rows longer than this must be rebased: positions are 32 bits.
  static constexpr uint64_t kMaxRow = 1u << 30;

  // No quote: none is special. Fields past `max_fields` are counted but not kept.
  RowScanner(char delimiter, std::optional<char> quote, size_t max_fields,
             std::optional<char> escape = std::nullopt);

  // The beginning of a row; forgets the one before.
  void begin();
  // Looks at the next bytes of the row. True: the row ends among them, with the CR or LF at size().
  bool advance(const char* bytes, size_t size);
  // The document ends here, and with it the row.
  void end();

  // Bytes looked at since begin or rebase, without the line end.
  uint32_t size() const { return size_; }
  const std::vector<FieldSpan>& fields() const { return fields_; }
  size_t field_count() const { return field_count_; }
  RowFault fault() const { return fault_; }
  // Whether a CR or LF would be part of a field now.
  bool in_quotes() const { return quoted_; }
  // False: every byte is ASCII and none is NUL. True: look.
  bool needs_a_look() const { return needs_a_look_; }
  // Line ends inside quotes so far.
  uint64_t line_ends() const { return line_ends_; }

  // Where a row is too long to keep: goes on counting positions from here, without fields. What
  // decides where the row ends is all in Place, so that a reader of the next piece of the document
  // can take it up.
  struct Place {
    bool quoted = false;
    bool field_quoted = false;
    bool after_quote = false;   // the byte before closed a quoted field
    bool after_escape = false;  // the byte before escapes a quote or an escape that comes now
    bool field_begins = false;
    bool after_cr = false;  // the byte before was a CR inside quotes
    uint64_t line_ends = 0;
  };
  Place rebase();
  void take_up(const Place& place);

 private:
  static constexpr uint32_t kNowhere = ~0u;

  template <bool kWithEscape>
  bool advance_in(const char* bytes, size_t size);
  void quote_outside(uint32_t at);
  bool escape_inside(char c, uint32_t at);
  void line_end_inside(char c, uint32_t at);
  void close_field(uint32_t at);

  char delimiter_;
  char quote_;  // the delimiter where there is none
  size_t max_fields_;

  std::vector<FieldSpan> fields_;
  size_t field_count_ = 0;
  uint32_t size_ = 0;
  uint32_t field_begin_ = 0;
  uint32_t after_quote_ = kNowhere;  // the position after the last closing quote
  uint32_t after_cr_ = kNowhere;     // the position after the last CR inside quotes
  uint64_t line_ends_ = 0;
  RowFault fault_ = RowFault::kNone;
  bool quoted_ = false;        // inside quotes
  bool field_quoted_ = false;  // the field began with a quote
  bool escaped_ = false;
  bool needs_a_look_ = false;
  std::optional<char> escape_;        // only with a quote
  uint32_t after_escape_ = kNowhere;  // the position after the last escape that is none itself
};

}  // namespace girdle::delimited
