#include "xml/markup_scanner.h"

#include <algorithm>
#include <cstring>

namespace girdle::xml {

namespace {

// ASCII only: whether a name beyond ASCII is one is asked when the tag is there.
bool may_begin_a_name(char c) {
  const char letter = static_cast<char>(c | 0x20);
  return (letter >= 'a' && letter <= 'z') || c == '_' || c == ':' ||
         static_cast<uint8_t>(c) >= 0x80;
}

}  // namespace

size_t MarkupScanner::advance(const char* bytes, size_t size) {
  for (size_t i = 0; i < size; ++i) {
    if (place_.state == State::kBegin && bytes[i] != '<') place_.state = State::kText;
    if (place_.state == State::kText) {
      const auto* next = static_cast<const char*>(std::memchr(bytes + i, '<', size - i));
      if (next == nullptr) return size;
      end(Token::kText);
      return static_cast<size_t>(next - bytes);
    }
    step(bytes[i]);
    if (ended()) return i + 1;
  }
  return size;
}

void MarkupScanner::step(char c) {
  switch (place_.state) {
    case State::kBegin:
      return go(State::kOpen);
    case State::kOpen:
      return open(c);
    case State::kBang:
      return bang(c);
    case State::kDash:
      return c == '-' ? go(State::kComment) : end(Token::kBroken);
    case State::kCdataOpen:
      return match(c, "[CDATA[", State::kCdata);
    case State::kDoctypeOpen:
      return match(c, "DOCTYPE", State::kEnded);
    case State::kComment:
      return until(c, '-', 2);
    case State::kCdata:
      return until(c, ']', 2);
    case State::kInstruction:
      return until(c, '?', 1);
    case State::kTag:
      return in_tag(c);
    case State::kEndTag:
      if (c == '>') end(Token::kEndTag);
      if (c == '<') end(Token::kBroken);
      return;
    case State::kText:  // taken as a whole
    case State::kEnded:
      return;
  }
}

void MarkupScanner::open(char c) {
  if (c == '!') return go(State::kBang);
  if (c == '?') return go(State::kInstruction);
  if (c == '/') return go(State::kEndTag);
  if (may_begin_a_name(c)) return go(State::kTag);
  end(Token::kBroken);
}

void MarkupScanner::bang(char c) {
  if (c == '-') return go(State::kDash);
  if (c != '[' && c != 'D') return end(Token::kBroken);
  go(c == '[' ? State::kCdataOpen : State::kDoctypeOpen);
  place_.matched = 1;
}

void MarkupScanner::match(char c, const char* mark, State next) {
  if (c != mark[place_.matched]) return end(Token::kBroken);
  if (++place_.matched < 7) return;
  if (next == State::kEnded) return end(Token::kDoctype);
  go(next);
}

// The token ends at a ">" that follows so many marks.
void MarkupScanner::until(char c, char mark, uint8_t times) {
  if (c == mark) {
    place_.matched = std::min<uint8_t>(times, place_.matched + 1);
  } else if (c == '>' && place_.matched == times) {
    end(token());
  } else {
    place_.matched = 0;
  }
}

void MarkupScanner::in_tag(char c) {
  if (c == '<') return end(Token::kBroken);
  if (place_.quote != '\0') {
    if (c == place_.quote) place_.quote = '\0';
    return;
  }
  if (c == '>') return end(place_.slash ? Token::kEmptyTag : Token::kStartTag);
  if (c == '"' || c == '\'') place_.quote = c;
  place_.slash = c == '/';
}

void MarkupScanner::go(State state) {
  place_ = {};
  place_.state = state;
}

void MarkupScanner::end(Token token) {
  token_ = token;
  go(State::kEnded);
}

Token MarkupScanner::token() const {
  switch (place_.state) {
    case State::kEnded:
      return token_;
    case State::kText:
      return Token::kText;
    case State::kTag:
      return Token::kStartTag;
    case State::kEndTag:
      return Token::kEndTag;
    case State::kInstruction:
      return Token::kInstruction;
    case State::kComment:
      return Token::kComment;
    case State::kCdata:
      return Token::kCdata;
    case State::kBegin:
    case State::kOpen:
    case State::kBang:
    case State::kDash:
    case State::kCdataOpen:
    case State::kDoctypeOpen:
      return Token::kNone;
  }
  return Token::kNone;
}

bool MarkupScanner::take_up(const Place& place) {
  place_ = place;
  const bool quote = place.quote == '\0' || place.quote == '"' || place.quote == '\'';
  return place.state < State::kEnded && place.matched < 7 && quote;
}

}  // namespace girdle::xml
