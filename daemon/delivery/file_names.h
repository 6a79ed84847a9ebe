// How the files of a drop folder are called: by a pattern of the house, with what the first outcome
// in the file says.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/problem.h"
#include "config/settings.h"
#include "model/outcome.h"

namespace girdle::delivery {

// A name in two parts, so that a number can stand before the extension.
struct FileName {
  std::string stem;
  std::string extension;  // with its dot; may be empty

  std::string whole() const { return stem + extension; }
  // "stem-2.csv"; number 1 is the name itself.
  std::string numbered(unsigned number) const;
};

// A pattern such as "{stock_number}-{id}.csv", compiled. Immutable.
//
// Importers mostly take files in the order of their names, and outcomes of a case must reach them in theirs: so {time} is
// when the file was written, and names that begin with it stand in that order. Without it the same outcome always gets
// the same name, and a file that was written just before a crash is known again.
class FileNames {
 public:
  static constexpr size_t kMostBytes =
      200;  // of a name: file systems take 255, and a number may come behind it
  // "20261102T101530123Z-q1w2e3r4-17-1.json".
  static constexpr std::string_view kDefault = "{time}-{id}";

  // What is wrong with the pattern is reported at its place; then there is nothing. `extension` is
  // the body's, for where the configuration gives no pattern: "jsonl".
  static std::optional<FileNames> compile(const config::DropFolder& folder,
                                          std::string_view extension, const config::Report& report);

  // Of a file with `count` outcomes; `written` later than that of the file before. Letters, digits, ".", "_" and "-" stand for themselves; any
  // other byte of a value, and a "." or "-" at its start or "." at its end, stands as %XX: no value
  // leaves the folder, hides a file or reads as an option. Long stock numbers and sites are cut,
  // the id never.
  FileName name(const model::Outcome& first, size_t count, base::Instant written) const;

 private:
  enum class Part { kConstant, kId, kTime, kStockNumber, kSite, kDisposition, kSequence, kCount };
  struct Piece {
    Part part = Part::kConstant;
    std::string text;  // of a constant
  };
  struct Placeholder;
  static const Placeholder kPlaceholders[];

  FileNames() = default;
  static std::optional<Part> part_of(std::string_view name);
  static std::string known_placeholders();
  bool split(std::string_view pattern, const model::Mark& mark, const config::Report& report);
  bool check(const model::Mark& mark, const config::Report& report) const;
  bool has(Part part) const;
  size_t longest() const;
  void take_extension();
  static std::string value(Part part, const model::Outcome& first, size_t count, base::Instant written);

  std::vector<Piece> pieces_;
  std::string extension_;
};

}  // namespace girdle::delivery
