// Members of the objects around the records that go with each record: the option `context`.
//
// A field is named by the way to it from the record: ../site is a member of the object around the
// records (arrays do not count), ../../site of the one around that, ../device/serial lies in the
// member device. Behind the dots stands a JSON Pointer.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "json/record_fields.h"
#include "kit/saved_state.h"

namespace girdle::json {

// One of those that the option asks for.
struct ContextWay {
  size_t levels_up = 1;
  std::string member;   // the object's
  std::string pointer;  // from that object: "/site", "/device/serial"
  bool may_lack = false;

  std::string text() const;  // "../../site"
};

// "../device/serial, ../../site, ../operator?"; nothing, and why not for a shop's administrator in
// `refusal`, where the text is no such list.
std::optional<std::vector<ContextWay>> context_ways(std::string_view list, std::string& refusal);

// What of it there was so far. Levels are objects around the records, from 0 for the outermost.
class Context {
 public:
  // `limit`: bytes that may be kept.
  Context(std::vector<ContextWay> ways, size_t limit) : ways_(std::move(ways)), limit_(limit) {}

  bool wants(std::string_view member) const;
  // A wanted member comes. False where one of that name was there already.
  bool is_first(size_t level, std::string_view member);
  // The way to what comes now, where records were read without it that may lack it.
  std::optional<std::string> comes_late(size_t level, std::string_view member) const;
  // `fields` were read from an object with that member alone. False where it is too much to keep.
  bool keep(size_t level, std::string_view member, const RecordFields& fields);
  // There are so many objects around now; what was in others is gone.
  void leave(size_t objects);

  // For a record with so many objects around it.
  const GivenFields& at(size_t objects);
  // After at(): the first way that has to lead somewhere and does not.
  const ContextWay* lacking() const { return lacking_; }

  void save(kit::StateWriter& state) const;
  void take_up(kit::StateParser& state);

 private:
  static constexpr size_t kNothingLent = ~size_t{0};

  struct Seen {
    size_t level;
    std::string member;
  };
  // A field, or that a way leads to something that has no value.
  struct Found {
    size_t level;
    size_t way;
    bool is_field;
    std::string name;
    std::string value;
  };
  static size_t bytes_of(const Found& found) { return found.name.size() + found.value.size(); }
  void lend(size_t objects);

  std::vector<ContextWay> ways_;
  size_t limit_;
  std::vector<Seen> seen_;
  std::vector<Found> found_;
  size_t kept_ = 0;   // bytes in found_
  size_t given_ = 0;  // a record with so many objects around it was there

  size_t lent_for_ = kNothingLent;  // objects
  std::vector<girdle_text> names_;
  std::vector<girdle_text> values_;
  GivenFields lent_;
  const ContextWay* lacking_ = nullptr;
};

}  // namespace girdle::json
