#include "json/envelope.h"

#include <algorithm>

namespace girdle::json {

Envelope::Step Envelope::step(char c) {
  switch (state_) {
    case State::kValueOrEnd:
      if (c == ']') return leave(c);
      return value(c);
    case State::kValue:
      return value(c);
    case State::kNameOrEnd:
      if (c == '}') return leave(c);
      return c == '"' ? Step::kName : refuse("not JSON: a member's name must come here");
    case State::kName:
      return c == '"' ? Step::kName : refuse("not JSON: a member's name must come here");
    case State::kColon:
      if (c != ':') return refuse("not JSON: a colon must come after a member's name");
      state_ = State::kValue;
      return Step::kStructure;
    case State::kNext:
      return next(c);
    case State::kEnd:
      return refuse("text after the end of the JSON value; say shape: lines for one value a line");
  }
  return Step::kFault;
}

Envelope::Step Envelope::value(char c) {
  if (c == ',' || c == ':' || c == ']' || c == '}')
    return refuse("not JSON: a value must come here");
  if (levels_.empty()) {
    if (root_ == Root::kObject && c != '{') return refuse("not an object, as shape: object says");
    if (root_ == Root::kArray && c != '[') return refuse("not an array, as shape: array says");
  } else if (levels_.back().kind == Kind::kRecords) {
    return Step::kRecord;
  } else if (levels_.back().kind == Kind::kArray) {
    wanted_ = leads_on();
  }
  if (!wanted_) return Step::kPassOver;
  if (levels_.size() == tokens_.size()) return target(c);
  if (c == '{') return enter(Kind::kObject, State::kNameOrEnd);
  if (c == '[') return enter(Kind::kArray, State::kValueOrEnd);
  return Step::kPassOver;
}

Envelope::Step Envelope::target(char c) {
  found_ = true;
  return c == '[' ? enter(Kind::kRecords, State::kValueOrEnd) : Step::kRecord;
}

Envelope::Step Envelope::enter(Kind kind, State state) {
  levels_.push_back({kind});
  state_ = state;
  return Step::kStructure;
}

Envelope::Step Envelope::leave(char c) {
  const char closing = levels_.back().kind == Kind::kObject ? '}' : ']';
  if (c != closing) return refuse("not JSON: a comma or the closing bracket must come here");
  if (state_ == State::kValueOrEnd && leads_to_each()) found_ = true;  // there are no elements
  levels_.pop_back();
  value_ended();
  return Step::kStructure;
}

Envelope::Step Envelope::next(char c) {
  if (c != ',') return leave(c);
  Level& level = levels_.back();
  ++level.index;
  state_ = level.kind == Kind::kObject ? State::kName : State::kValue;
  return Step::kStructure;
}

Envelope::Step Envelope::refuse(std::string_view fault) {
  fault_ = fault;
  return Step::kFault;
}

bool Envelope::leads_on() const {
  return leads_to_each() || tokens_[levels_.size() - 1] == std::to_string(levels_.back().index);
}

// RFC 6901 gives "-" to the element behind an array's last, which is never there.
bool Envelope::leads_to_each() const {
  return levels_.back().kind == Kind::kArray && tokens_[levels_.size() - 1] == "-";
}

size_t Envelope::objects() const {
  return static_cast<size_t>(std::count_if(levels_.begin(), levels_.end(), [](const Level& level) {
    return level.kind == Kind::kObject;
  }));
}

bool Envelope::named(std::string_view name) {
  Level& level = levels_.back();
  state_ = State::kColon;
  wanted_ = name == tokens_[levels_.size() - 1];
  if (!wanted_) return true;
  const bool first = !level.seen;
  level.seen = true;
  return first;
}

void Envelope::save(kit::StateWriter& state) const {
  state.number(static_cast<uint64_t>(state_)).number(wanted_).number(found_);
  state.number(levels_.size());
  for (const Level& level : levels_) {
    state.number(static_cast<uint64_t>(level.kind)).number(level.seen).number(level.index);
  }
}

void Envelope::take_up(kit::StateParser& state) {
  state_ = static_cast<State>(state.number(static_cast<uint64_t>(State::kEnd)));
  wanted_ = state.flag();
  found_ = state.flag();
  levels_.resize(state.number(tokens_.size() + 1));
  for (size_t i = 0; i < levels_.size(); ++i) {
    // Only the level under the last token holds records.
    const bool records = i == tokens_.size();
    const auto kind = static_cast<Kind>(state.number(static_cast<uint64_t>(Kind::kRecords)));
    if ((kind == Kind::kRecords) != records) state.fail();
    levels_[i] = {kind, state.flag(), state.number()};
  }
  // In these states something is asked of the innermost level.
  const bool in_object =
      state_ == State::kName || state_ == State::kNameOrEnd || state_ == State::kColon;
  const bool in_any = in_object || state_ == State::kNext || state_ == State::kValueOrEnd;
  if (in_any && levels_.empty()) state.fail();
  if (in_object && !levels_.empty() && levels_.back().kind != Kind::kObject) state.fail();
}

}  // namespace girdle::json
