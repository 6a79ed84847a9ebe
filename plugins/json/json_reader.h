// The reader of JSON documents. What it takes and what it sets aside: README.md.
//
// Each value is found first by its brackets, then checked as a whole by simdjson's DOM parser, and
// only then are its fields taken from its own text, which keeps numbers as they were written. A
// value that is not JSON is set aside and reading goes on behind it. That is safe even where a
// missing quote has turned strings inside out: what was a string then holds no bare quote, so no
// object with a name in it can come out.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "json/context.h"
#include "json/envelope.h"
#include "json/record_fields.h"
#include "json/value_checker.h"
#include "json/value_scanner.h"
#include "kit/maker.h"
#include "kit/output.h"

namespace girdle::json {

class JsonReader {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<JsonReader> create(const girdle_reader_host& host,
                                            const girdle_reader_setup& setup, std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const { return begin_; }
  std::string_view save();

 private:
  friend class kit::Maker;
  enum class Shape { kAuto, kObject, kArray, kLines };
  // The numbers are in saved states.
  enum class Mode {
    kMark,       // a byte order mark may come
    kFirst,      // in the first line, which tells the shape
    kLines,      // one value a line
    kLongLine,   // in a line that is too long to keep
    kEnvelope,   // in the structure around records
    kValue,      // in a value that is kept
    kLongValue,  // in a value that is too long to keep
    kRest,       // the JSON is broken beyond repair: the rest is set aside
  };
  // What the value at hand is.
  enum class Role { kRecord, kPassedOver, kName };

  struct Options {
    Shape shape = Shape::kAuto;
    std::vector<std::string> records;
    std::vector<ContextWay> context;
    uint64_t fingerprint = 0;
  };
  static std::optional<Options> options(const girdle_reader_setup& setup, std::string& refusal);
  static Envelope::Root root(const Options& options);

  JsonReader(const girdle_reader_host& host, const girdle_reader_setup& setup, Options options);
  bool resume(std::string_view state);

  Mode first_mode() const;
  void take(std::string_view bytes);
  void replay();
  std::string_view byte_order_mark(std::string_view bytes, bool whole);
  std::string_view first_line(std::string_view bytes);
  void tell_shape();
  std::string_view line(std::string_view bytes);
  std::string_view long_line(std::string_view bytes);
  std::string_view structure(std::string_view bytes);
  std::string_view in_value(std::string_view bytes);
  std::string_view in_long_value(std::string_view bytes);

  void whole_line(std::string_view text, const char* readable_end);
  void value_ended(std::string_view value, const char* readable_end);
  void long_value_ended();
  void record(uint64_t offset, std::string_view text, const char* readable_end);
  std::optional<std::string> read_fields(std::string_view object);
  bool name(std::string_view text, const char* readable_end);
  void keep_context(std::string_view value);
  bool at_limit(std::string_view bytes);
  void begin_long(Mode mode);
  void piece_aside();
  void break_off(std::string_view reason);
  void set_rest_aside(bool whole);
  void finish_value();
  void finish_envelope();
  void pass(std::string_view bytes);

  kit::Output out_;
  const Options options_;
  ValueChecker checker_;
  RecordFields fields_;
  RecordFields context_fields_;
  Context context_;
  Envelope envelope_;
  ValueScanner scanner_;

  Mode mode_ = Mode::kMark;
  Role role_ = Role::kRecord;
  std::string kept_;         // of the line or value at hand, from feeds before this one
  std::string member_;       // name of the value that comes, where the records are to have it
  std::string rest_reason_;  // kRest
  uint64_t line_ = 1;        // at begin_
  uint64_t fed_ = 0;
  uint64_t begin_ = 0;         // offset of what is at hand, or of its part that is not yet aside
  uint64_t piece_ = 0;         // kLong…: bytes from begin_ on
  uint64_t piece_lines_ = 0;   // kLongValue: line ends in them
  ValueScanner::Place place_;  // kLongValue: as at begin_
  bool resumed_ = false;
  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::json
