// Gives equal numbers to records with the same names in the same order, and finds names that come
// twice. Both are found once for each layout that is remembered; most records of a document have
// the layout of the one before.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::json {

// A name in a record. Names of null, objects and arrays give no field, but may not come twice
// either.
struct Member {
  std::string_view name;
  bool is_field;
  bool operator==(const Member&) const = default;
};

class Layouts {
 public:
  struct Found {
    uint32_t layout = 0;                    // as in girdle_record
    std::optional<std::string_view> twice;  // a name that comes twice; lent from the members
  };

  Found find(const std::vector<Member>& members);

 private:
  // Few and small: what a document's records have in common, not all that they have.
  static constexpr size_t kRemembered = 32;
  static constexpr size_t kMaxNames = 16 << 10;  // bytes

  struct Layout {
    uint32_t number = 0;
    std::unique_ptr<char[]> names;  // one after the other; the members' lie in it
    std::vector<Member> members;
  };
  void remember(const std::vector<Member>& members, uint32_t number);

  std::vector<Layout> known_;
  size_t last_ = 0;  // found or remembered last
  uint32_t numbers_ = 0;
  std::vector<std::string_view> sorted_;
};

}  // namespace girdle::json
