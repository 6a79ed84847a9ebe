// What a mapping makes of a document: readings, declarations and scans, and what was set aside.
//
// Plain values. Texts are UTF-8 as the document had them (stock numbers keep leading zeros, case and inner marks);
// an empty text and an empty optional mean that the document did not say. Lengths are millimetres, carats metric
// carats (0.2 g), temperatures degrees Celsius, humidity per cent relative, confidence 0 to 1.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "base/decimal.h"
#include "base/digest.h"
#include "model/words.h"

namespace girdle::model {

// Where in its document a record stands.
struct Place {
  uint64_t offset = 0;  // bytes from the start of the document
  uint64_t length = 0;
  uint32_t line = 0;  // 1-based; 0 = unknown

  bool operator==(const Place&) const = default;
};

// One normalised result of one measurement, made by one instrument.
struct Reading {
  std::string instrument;  // serial number; never empty
  std::string run;
  base::Instant measured_at{};
  std::string stock_number;  // empty: bound by the bench's last scan, or by a person
  std::string position;      // which stone of a piece
  std::optional<SubjectKind> subject_kind;
  Finding finding = Finding::kVoid;
  std::optional<DiamondType> diamond_type;
  std::optional<base::Decimal> confidence, carat, table_mm, length_mm, width_mm, depth_mm, temperature_c, humidity_pct;
  std::string color, shape, operator_name, note;
  // extra.*: the name after the dot, and the text. Sorted by name, names unique.
  std::vector<std::pair<std::string, std::string>> extra;
  // Set when a local time in the hour that comes twice was resolved by the mapping's rule: "earlier" or "later".
  std::string time_rule;
  // Fields that the record did not give, by the mapping's names ("operator", "extra.lamp"): their values are the
  // mapping's defaults. They are for people: nothing is told apart or decided by them.
  std::vector<std::string> defaults;

  Place place;

  bool operator==(const Reading&) const = default;
};

bool is_default(const Reading& reading, std::string_view field);
// As the record gave it.
Reading without_defaults(Reading reading);

// What the inventory claims of a subject. `identity` is one of the first five findings.
struct Declaration {
  std::string stock_number;  // never empty
  std::string position;
  std::optional<SubjectKind> subject_kind;
  std::optional<Finding> identity;
  std::string color, shape, mount, channel;
  std::optional<base::Decimal> carat, table_mm, length_mm, width_mm, depth_mm, stones, value;
  std::optional<base::Instant> declared_at;
  std::vector<std::pair<std::string, std::string>> extra;  // as in Reading

  Place place;

  bool operator==(const Declaration&) const = default;
};

// A barcode scanner's line: what lies on the bench from now on.
struct Scan {
  std::string bench;         // never empty
  std::string stock_number;  // never empty
  std::string position;
  base::Instant scanned_at{};

  Place place;

  bool operator==(const Scan&) const = default;
};

// A stretch of a document of which no reading could be made: kept with its bytes and the reason.
struct Aside {
  Place place;
  std::string reason;  // says what is wrong and what would be right
  std::string bytes;   // at most the record limit; `truncated` tells when the stretch was longer
  bool truncated = false;

  bool operator==(const Aside&) const = default;
};

// The bytes that a reader is given: a whole file, the new part of a growing file, or one frame of a line.
struct Document {
  base::Digest digest{};
  std::string intake;        // name in the configuration
  std::string name;          // file name relative to the folder, or the line's device
  uint64_t offset = 0;       // of the document's first byte in a growing file
  uint64_t size = 0;         // bytes
  base::Instant came_at{};   // the file's modification time, or when the frame's last byte came: decides which of two
                             // contradicting records is the newer, so that the order of processing does not matter
};

// Raw records that the mapping says are no results.
struct Ignored {
  std::string why;  // as the mapping says it
  uint64_t count = 0;

  bool operator==(const Ignored&) const = default;
};

// What reading a document, or one piece of it, gave. Pieces of one document come in order.
struct Records {
  std::vector<Reading> readings;
  std::vector<Declaration> declarations;
  std::vector<Scan> scans;
  std::vector<Aside> asides;
  std::vector<Ignored> ignored;  // each reason once; not counted in size()

  size_t size() const { return readings.size() + declarations.size() + scans.size() + asides.size(); }
  bool empty() const { return size() == 0; }
};

// The canonical content of a record, for telling a duplicate: all fields that it gave, but not the place, in a fixed
// order and form. Two records have equal content exactly when these bytes are equal. Appends to `out`.
//
// Defaults do not enter: a mapping that gets one, or another one, would make new measurements of all that is known when
// an export comes again.
void append_content(std::string& out, const Reading& reading);
void append_content(std::string& out, const Declaration& declaration);
void append_content(std::string& out, const Scan& scan);

// The subject's key as people write it: "R1042", or "R1042#2" for a stone of a piece.
std::string subject_key(std::string_view stock_number, std::string_view position);

// JSON as in schemas/reading.schema.json etc.; one object, no line feed.
void write_json(std::string& out, const Reading& reading);
void write_json(std::string& out, const Declaration& declaration);
void write_json(std::string& out, const Scan& scan);
void write_json(std::string& out, const Aside& aside);

}  // namespace girdle::model
