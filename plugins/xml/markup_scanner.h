// Finds where the next piece of markup, or of text between markup, ends (XML 1.0, 2.4 to 2.8),
// piece by piece: it need not lie in one place. Says nothing about whether it is well-formed
// inside.
//
// All marks are ASCII; the text is UTF-8, or at least of an encoding whose other characters have no
// byte below 80.
#pragma once

#include <cstddef>
#include <cstdint>

namespace girdle::xml {

// The numbers are in saved states.
enum class Token : uint8_t {
  kNone,         // nothing was seen, or too little to tell
  kText,         // up to the next "<"
  kStartTag,     // <a …>
  kEmptyTag,     // <a …/>; while it has not ended, kStartTag
  kEndTag,       // </a>
  kInstruction,  // <?a …?>
  kComment,      // <!-- … -->
  kCdata,        // <![CDATA[ … ]]>
  kDoctype,      // <!DOCTYPE, and no further
  kBroken,       // no markup begins like this, or a tag holds "<"
};

class MarkupScanner {
 public:
  // The numbers are in saved states.
  enum class State : uint8_t {
    kBegin,
    kText,
    kOpen,         // "<"
    kBang,         // "<!"
    kDash,         // "<!-"
    kCdataOpen,    // "<![" and more
    kDoctypeOpen,  // "<!D" and more
    kComment,
    kCdata,
    kInstruction,
    kTag,
    kEndTag,
    kEnded,
  };
  // Where the scanner is inside a token: all that decides where it ends.
  struct Place {
    State state = State::kBegin;
    uint8_t matched = 0;  // of a mark of several characters
    char quote = '\0';    // inside an attribute's value
    bool slash = false;   // the byte before was a slash
  };

  // Before the first byte of a token; forgets the one before.
  void begin() { place_ = {}; }
  // Looks at the token's next bytes: how many of them belong to it.
  size_t advance(const char* bytes, size_t size);

  bool ended() const { return place_.state == State::kEnded; }
  // What it is, as far as can be told; certain once it has ended.
  Token token() const;

  const Place& place() const { return place_; }
  // False where there is no such place.
  bool take_up(const Place& place);

 private:
  void step(char c);
  void open(char c);
  void bang(char c);
  void match(char c, const char* mark, State next);
  void until(char c, char mark, uint8_t times);
  void in_tag(char c);
  void go(State state);
  void end(Token token);

  Place place_;
  Token token_ = Token::kNone;
};

}  // namespace girdle::xml
