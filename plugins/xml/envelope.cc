#include "xml/envelope.h"

#include <algorithm>

#include "kit/text.h"
#include "xml/characters.h"

namespace girdle::xml {

namespace {

size_t bytes_of(const Level& level) {
  size_t bytes = level.name.size() + level.tag.size();
  for (const ContextElement& one : level.context) bytes += one.name.size() + one.text.size();
  return bytes;
}

}  // namespace

Envelope::Role Envelope::role_of(std::string_view name) {
  if (passes_over()) return Role::kPassedOver;
  const size_t last = path_.names.size() - 1;
  if (path_.is(name, path_.names[depth()]))
    return depth() == last ? Role::kRecord : Role::kAncestor;
  if (is_context(name, false)) return Role::kContext;
  if (depth() == last && other_.empty()) other_ = kit::in_quotes(name);
  return Role::kPassedOver;
}

// Whether the path asks for an element of this name in the innermost one; `needed`: and does not
// take it for one that may be missing.
bool Envelope::is_context(std::string_view name, bool needed) const {
  return std::any_of(path_.context.begin(), path_.context.end(),
                     [this, name, needed](const ContextPath& one) {
                       const bool here = path_.names.size() - one.levels_up == depth();
                       return here && !one.element.empty() && path_.is(name, one.element) &&
                              !(needed && one.may_be_missing);
                     });
}

bool Envelope::keep(size_t bytes) {
  if (bytes > limit_ - kept_) return false;
  kept_ += bytes;
  return true;
}

bool Envelope::open(std::string_view name, Role role, std::string_view tag) {
  const bool on_path = role == Role::kAncestor;
  Level level{std::string(name), on_path, on_path ? std::string(tag) : std::string(), {}, {}};
  if (!keep(bytes_of(level))) return false;
  levels_.push_back(std::move(level));
  parent_ = parent_ || (on_path && depth() + 1 == path_.names.size());
  version_ += on_path;
  return true;
}

void Envelope::close() {
  kept_ -= bytes_of(levels_.back());
  version_ += levels_.back().on_path;
  levels_.pop_back();
}

void Envelope::record() {
  records_ = true;
  for (Level& level : levels_) level.records = true;
}

std::string Envelope::context(std::string_view name, std::string_view text, std::string fault) {
  Level& level = levels_.back();
  const bool twice = std::any_of(level.context.begin(), level.context.end(),
                                 [name](const ContextElement& one) { return one.name == name; });
  if (fault.empty() && twice) fault = "it comes twice, and only one can belong to the records";
  if (fault.empty() && level.records && !is_context(name, true))
    return "an element of the option context that comes after the records";
  if (fault.empty() && !keep(name.size() + text.size()))
    fault = "what the option context asks for is too much to keep";
  if (fault.empty()) {
    level.context.push_back({std::string(name), std::string(text)});
  } else if (level.fault.empty()) {
    level.fault =
        "the element " + kit::in_quotes(name) + " of the option context cannot be used: " + fault;
  }
  ++version_;
  return fault;
}

std::string_view Envelope::fault() const {
  for (const Level& level : levels_) {
    if (!level.fault.empty()) return level.fault;
  }
  return {};
}

std::optional<std::string> Envelope::nothing_found() const {
  if (records_) return std::nullopt;
  if (!parent_ && path_.names.size() > 1) return "nothing is where the option record says";
  if (other_.empty()) return std::nullopt;
  return "no element is called " + kit::in_quotes(path_.names.back()) +
         " where the option record says; there is " + other_;
}

void Envelope::save(kit::StateWriter& state) const {
  state.number(records_).number(parent_).text(other_).number(levels_.size());
  for (const Level& level : levels_) {
    state.text(level.name).number(level.on_path).text(level.tag).text(level.fault);
    state.number(level.records).number(level.context.size());
    for (const ContextElement& one : level.context) state.text(one.name).text(one.text);
  }
}

void Envelope::take_up(kit::StateParser& state) {
  records_ = state.flag();
  parent_ = state.flag();
  other_ = state.text();
  for (size_t count = state.number(); state.good() && count > 0; --count) {
    Level& level = levels_.emplace_back();
    level.name = state.text();
    level.on_path = state.flag();
    level.tag = state.text();
    level.fault = state.text();
    level.records = state.flag();
    const bool leads_on = levels_.size() < path_.names.size() &&
                          (levels_.size() == 1 || levels_[levels_.size() - 2].on_path);
    if (level.on_path && !leads_on) state.fail();
    for (size_t more = state.number(); state.good() && more > 0; --more) {
      ContextElement& one = level.context.emplace_back();
      one.name = state.text();
      one.text = state.text();
    }
    if (!keep(bytes_of(level))) state.fail();
  }
}

}  // namespace girdle::xml
