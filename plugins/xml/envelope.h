// The elements that are open around the records: where a tag leads, what the ancestors of a record
// give to it, and what is said at the end of a document in which no record was.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "kit/saved_state.h"
#include "xml/element_path.h"

namespace girdle::xml {

// An element, whole and well-formed, as text.
struct ContextElement {
  std::string name;
  std::string text;
};

// One open element.
struct Level {
  std::string name;
  bool on_path = false;                 // leads to the records
  std::string tag;                      // on_path: its start tag
  std::vector<ContextElement> context;  // on_path: the children that the path asks for, so far
  std::string fault;                    // on_path: why no record behind it can be read
  bool records = false;                 // on_path: a record was in it
};

class Envelope {
 public:
  enum class Role { kRecord, kContext, kAncestor, kPassedOver };

  // `limit`: bytes that may be kept of all that is open.
  Envelope(const ElementPath& path, size_t limit) : path_(path), limit_(limit) {}

  // What an element that begins here is.
  Role role_of(std::string_view name);
  // Such an element begins; `tag` is its start tag. False where it would be too much to keep.
  bool open(std::string_view name, Role role, std::string_view tag);
  // The innermost one ends; its name was name().
  void close();
  // A record was there, or one that could not be read.
  void record();
  // A context element was there, whole, or `fault` says why it cannot be given. Why it is set
  // aside; empty where the records behind it have it.
  std::string context(std::string_view name, std::string_view text, std::string fault);

  size_t depth() const { return levels_.size(); }
  const std::string& name() const { return levels_.back().name; }
  // Text that stands here belongs to nothing that was asked for, nor to what leads there.
  bool passes_over() const { return !levels_.empty() && !levels_.back().on_path; }
  const std::vector<Level>& levels() const { return levels_; }
  // Changes whenever what a record would be given by its ancestors does.
  uint64_t version() const { return version_; }
  // Why no record can be read here; empty where one can.
  std::string_view fault() const;

  // For the end of a document: why there was no record; nothing where that is no fault.
  std::optional<std::string> nothing_found() const;

  void save(kit::StateWriter& state) const;
  void take_up(kit::StateParser& state);

 private:
  bool is_context(std::string_view name, bool needed) const;
  bool keep(size_t bytes);

  const ElementPath& path_;
  const size_t limit_;
  std::vector<Level> levels_;
  size_t kept_ = 0;  // bytes in levels_
  uint64_t version_ = 1;
  bool records_ = false;
  bool parent_ = false;  // an element that may hold records was open
  std::string other_;    // the first element there that is no record; for the reason
};

}  // namespace girdle::xml
