// What stands in the event that an outlet is told (model::write_event): the fields that a
// configuration may name. It says what schemas/event.schema.json and outcome.schema.json say; a
// test holds them equal.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::delivery {

enum class FieldKind : uint8_t {
  kText,
  kNumber,   // an integer
  kFlag,     // true or false
  kDecimal,  // a text of a decimal: carats, probabilities, money
  kTime,     // a text after RFC 3339, UTC
  kWord,     // a text of a closed list
  kObject,
  kList,
};

// Where the object or the list around a field is there.
enum class Presence : uint8_t {
  kAlways,    // of a list's elements: the first one
  kNullable,  // always there, perhaps as null
  kOptional,
};

struct EventField {
  std::string_view pointer;  // RFC 6901, with `*` for any place in a list: "/data/reasons/*/code"
  FieldKind kind;
  Presence presence = Presence::kAlways;
  std::span<const std::string_view> words{};  // kWord: the whole list
};

// All of them, an object before what it holds; the event itself, whose pointer is "", first. There
// are no free names: the extension attributes that the schema leaves room for are not written.
std::span<const EventField> event_fields();

// One step of a pointer: into an object by name, or into a list by place.
struct Step {
  std::string name;
  size_t place = 0;
  bool is_place = false;
};

// A pointer into the event, compiled.
struct EventPath {
  std::string pointer;  // as it was written
  std::vector<Step> steps;
  const EventField* field = nullptr;  // where it leads
  bool always = true;                 // there, and not null, in every event
};

// Where the event has no such field: false, and `why` names the nearest that it has.
bool compile_path(std::string_view pointer, EventPath& path, std::string& why);

}  // namespace girdle::delivery
