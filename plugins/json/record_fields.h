// One JSON object as the fields of a record.
//
// A member of the object is named as it stands there; what lies deeper by its JSON Pointer
// (/result/code, /runs/0). A member whose name begins with "/" or "../" has its pointer for a name
// too (/~1a, /..~1a), so that no two fields are ever named alike: dots lead to what is around the
// records (context.h). Strings are unescaped; numbers, true and
// false are the document's own text; null, {} and [] give no field.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "girdle/reader.h"
#include "json/layouts.h"

namespace girdle::json {

// Bytes that must be readable after a text that is given to RecordFields; their value does not
// matter.
inline constexpr size_t kReadableAfter = 16;

// Fields that a record has besides its own; their names begin with "../".
struct GivenFields {
  std::span<const girdle_text> names;
  std::span<const girdle_text> values;
};

class RecordFields {
 public:
  static constexpr size_t kMaxDepth = 32;  // the object itself is 1

  explicit RecordFields(size_t max_fields) : max_fields_(max_fields) {}

  // `object` is one valid JSON object, from brace to brace. The reason where no record can be made
  // of it. What the getters lend is valid until `object` or `given` go or the next call.
  std::optional<std::string> read(std::string_view object, const GivenFields& given = {});
  // The same of an object that has one member alone, whose name is unescaped.
  std::optional<std::string> read_member(std::string_view name, std::string_view value);

  const std::vector<girdle_text>& names() const { return names_; }
  const std::vector<girdle_text>& values() const { return values_; }
  uint32_t layout() const { return layout_; }
  // All that was there, in order: the fields, and what gives none.
  const std::vector<Member>& members() const { return members_; }

 private:
  void begin(std::string_view text);
  std::optional<std::string> end();
  void add(const GivenFields& given);
  void object(size_t depth);
  void object_member(std::string_view token, size_t depth);
  void array(size_t depth);
  void value(std::string_view name);
  void member(std::string_view name, bool is_field);
  void container(std::string_view token, size_t depth);
  std::string_view string();
  std::string_view unescaped(const char* begin, const char* special);
  std::string_view nested_name(std::string_view token);
  std::string_view keep(std::string_view text);
  void skip_space();
  bool more(char closing);
  void refuse(std::string fault);

  const size_t max_fields_;
  Layouts layouts_;
  const char* at_ = nullptr;
  std::string path_;   // of the object or array at hand; empty for the record
  std::string arena_;  // names and values that do not stand in the document; never grows while they
                       // are lent
  size_t arena_limit_ = 0;
  std::vector<Member> members_;
  std::vector<girdle_text> names_;
  std::vector<girdle_text> values_;
  uint32_t layout_ = 0;
  std::optional<std::string> fault_;
};

}  // namespace girdle::json
