// The fields of one record, by names such as R.4, R.4.2 and O.5[2].4: all is counted from 1, and
// the record's letter is field 1.
//
// R.4     the field as it stands; without its escapes where it is one text
// R.4.2   its second component, without its escapes; R.4.1 is there too where there is only one
// R.4[2]  its second repeat, and R.4[2].1 that one's first component
//
// What is empty has no name, and neither have the letter and a header's delimiters. Values are
// UTF-8.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "astm/delimiters.h"

namespace girdle::astm {

class RecordFields {
 public:
  // `most`: names beyond it are a fault. `record` is UTF-8.
  RecordFields(bool decodes_escapes, uint64_t most)
      : decodes_escapes_(decodes_escapes), most_(most) {}

  // Takes a record apart. Why it cannot, for a shop's administrator; nothing where it can.
  std::optional<std::string> read(std::string_view record, const Delimiters& delimiters);
  void clear();

  const std::vector<std::string>& names() const { return names_; }
  const std::vector<std::string>& values() const { return values_; }

 private:
  void field(const std::string& name, std::string_view text);
  void components(const std::string& name, std::string_view text);
  void add(std::string name, std::string_view text, bool is_one_text);
  bool decode(std::string_view text, std::string& out);
  // One sequence, without its marks. False: it is none.
  bool append_escaped(std::string_view sequence, std::string& out) const;

  const bool decodes_escapes_;
  const uint64_t most_;
  Delimiters delimiters_{};
  std::optional<std::string> fault_;  // the first
  std::vector<std::string> names_;
  std::vector<std::string> values_;
};

// The text of the field with this number, as it stands; empty where there is none.
std::string_view field_of(std::string_view record, char delimiter, size_t number);

}  // namespace girdle::astm
