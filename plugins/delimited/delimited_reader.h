// The reader of delimited documents: rows to records. What it takes and what it sets aside:
// README.md.
//
// Two byte counts run through it. "Source" bytes are those that were fed; offsets, lengths and
// limits are told in them. "Text" is what rows are found in: the source itself, or UTF-8 that a
// decoder made of it.
//
// What stands before a header that has to be found is not done with until the header is there: if
// it never comes, all of it is set aside.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "delimited/dialect.h"
#include "delimited/encoding.h"
#include "delimited/row_scanner.h"
#include "delimited/row_values.h"
#include "delimited/source_text.h"
#include "kit/maker.h"
#include "kit/output.h"

namespace girdle::delimited {

class DelimitedReader {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<DelimitedReader> create(const girdle_reader_host& host,
                                                 const girdle_reader_setup& setup,
                                                 std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const;
  std::string_view save();

 private:
  friend class kit::Maker;
  enum class Mode {
    kHead,     // the encoding is not known yet
    kBetween,  // before a row
    kRow,      // inside a row that is kept
    kLong,     // inside a row that is too long to keep; what came of it is set aside
    kComment,  // inside a comment
    kRest,     // no column has a name: the rest of the document is set aside
  };

  DelimitedReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                  Dialect dialect);
  bool resume(std::string_view state);

  void take_head(std::string_view bytes, bool whole);
  void begin_text(const ByteOrderMark& mark);
  void take_source(std::string_view bytes);
  void take(std::string_view text);
  std::string_view before_row(std::string_view text);
  std::string_view in_comment(std::string_view text);
  std::string_view in_row(std::string_view text);
  size_t room(std::string_view text) const;
  void too_long();
  void row_ended(std::string_view end_of_row);
  bool passes_over(std::string_view first_line);
  void pass_over();
  void row(std::string_view text);
  void header_row(std::string_view text);
  bool is_header(const std::vector<std::string>& names) const;
  bool separator_line(std::string_view text);
  std::string fault_of(std::string_view text) const;
  void set_columns(std::vector<std::string> names);
  void emit(std::string_view text);
  void unusable(std::string_view reason);
  void check_search();
  void no_header();
  std::string rest_reason() const;
  void set_rest_aside(bool whole);

  // Why the rest of a document is set aside. The numbers are in saved states.
  enum class RestReason { kHeader, kNoByteOrderMark, kUtf32, kNoHeader };

  bool wants_header() const { return dialect_.header && !columns_known_; }
  // The header may be anywhere from search_begin_ on.
  bool searches() const {
    return wants_header() && dialect_.searches_header() && mode_ != Mode::kHead &&
           mode_ != Mode::kRest;
  }
  FieldForm form() const;

  kit::Output out_;
  const Dialect dialect_;
  char delimiter_;  // the dialect's, or what the line sep= says
  const uint64_t fingerprint_;
  const size_t max_fields_;
  RowScanner scanner_;
  RowValues values_;

  Mode mode_ = Mode::kHead;
  SourceText source_;
  std::string head_;  // first bytes, while they may become a byte order mark
  std::string kept_;  // text of the row at hand from feeds before this one
  bool first_line_ = false;  // in the row's first line, which may have to be passed over
  bool first_row_ = true;    // no row was seen: a line "sep=…" may come
  bool columns_known_ = false;
  bool after_cr_ = false;  // an LF now belongs to the line end before it
  uint64_t line_ = 1;      // of what comes next, or of the row at hand
  uint64_t fed_ = 0;       // source bytes
  uint64_t begin_ =
      0;  // source offset: of the row at hand or its part not yet aside; else of what comes next
  uint64_t search_begin_ = 0;  // source offset of what comes after the byte order mark
  uint64_t row_bytes_ = 0;     // source bytes looked at from begin_ on
  RowScanner::Place place_;    // kLong: as at begin_
  RestReason rest_reason_ = RestReason::kHeader;  // kRest

  std::vector<std::string> names_;
  std::vector<girdle_text> lent_names_;
  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::delimited
