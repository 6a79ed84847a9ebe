// Which names of a folder are documents. Pure.
#pragma once

#include <string>
#include <string_view>

namespace girdle::intake {

class NameRules {
 public:
  // `match`: a glob in the sense of fnmatch(3), e.g. "*.csv".
  explicit NameRules(std::string match) : match_(std::move(match)) {}

  // Matches, and is none of the names under which programs write what is not complete: `.*`, `*~`,
  // `*.tmp`, `*.part` (the letters in either case). `name` is ended by a zero.
  bool is_document(std::string_view name) const;

 private:
  std::string match_;
};

// "a.csv" with 2 becomes "a-2.csv": how a file that was taken in is named where its name is taken
// already.
std::string numbered_name(std::string_view name, unsigned number);

}  // namespace girdle::intake
