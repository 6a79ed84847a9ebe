// Cuts the text of a document into the elements at a path, as the text comes, and checks on the way
// that it is well-formed XML (1.0, fifth edition) without a document type declaration.
//
// What is wrong inside an element and leaves no doubt about where it ends (a bare "&", an attribute
// twice, a character that is none) costs that element. Where tags do not fit each other nobody
// knows what belongs to what: the rest of the document is set aside.
//
// Bytes are those of the document (source_bytes tells how many a stretch of text was); text is
// UTF-8.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "kit/saved_state.h"
#include "xml/element_path.h"
#include "xml/envelope.h"
#include "xml/line_counter.h"
#include "xml/markup.h"
#include "xml/markup_scanner.h"
#include "xml/text_source.h"

namespace girdle::xml {

// One element at the path, from its "<" to its last ">". Lent for the call.
struct Element {
  std::string_view text;  // well-formed
  uint64_t offset;        // in bytes, from the first that was fed
  uint64_t length;
  uint64_t line;
  const Envelope& envelope;  // what is around it
};

// What is told of a document, in the order of its bytes.
class ElementListener {
 public:
  virtual ~ElementListener() = default;
  virtual void element(const Element& element) = 0;
  // Bytes of which no element comes, as girdle_aside has it; may be longer than the limit.
  virtual void aside(uint64_t offset, uint64_t length, uint64_t line, std::string_view reason) = 0;
  // True: nothing more is wanted.
  virtual bool stopped() const = 0;
};

struct CutterSettings {
  ElementPath path;
  uint64_t limit = 1 << 20;    // bytes of an element, a tag, a comment
  size_t max_depth = 64;       // the outermost element is 1
  bool may_be_absent = false;  // no element at the path is no fault
};

class ElementCutter {
 public:
  // `settings` and `listener` live longer than this.
  ElementCutter(const CutterSettings& settings, ElementListener& listener);

  // Of a document that begins: bytes of its head that hold nothing, with their text, and how the
  // rest is written.
  void begin(Encoding encoding, uint64_t head_bytes, std::string_view head_text);
  // More text.
  void take(std::string_view text);
  // No more will come; `fed` bytes were there.
  void finish(uint64_t fed);
  // Nothing more can be read, from begin() on.
  void break_off(std::string_view reason);
  // Of what cannot be read any more: pieces of the limit, and with `whole` the last one too.
  void set_rest_aside(uint64_t fed, bool whole);

  bool broken_off() const { return mode_ == Mode::kRest; }
  // Bytes that are done with.
  uint64_t begin() const { return begin_; }

  void save(kit::StateWriter& state) const;
  void take_up(kit::StateParser& state, Encoding encoding);

 private:
  // The numbers are in saved states.
  enum class Mode {
    kEnvelope,  // between records
    kElement,   // in an element that is kept
    kLong,      // in something that is too long to keep
    kRest,      // the rest is set aside
  };
  // What is at hand in kElement and kLong.
  enum class Role { kRecord, kContext, kText, kNothing };

  std::string_view in_envelope(std::string_view text);
  std::string_view in_long(std::string_view text);
  std::string_view between_tokens(std::string_view text);
  std::string_view more_of_token(std::string_view text);
  void envelope_token(Token token);
  void start_tag(Token token);
  void open_around(Envelope::Role role, Token token);
  void end_tag();
  void stray_text(Token token);
  std::string token_fault(Token token) const;
  void comment_or_instruction(Token token);
  void begin_element(Role role, Token token);
  void element_token();
  void start_inside(std::string_view tag, Token token);
  void end_inside(std::string_view tag);
  void element_ended();
  void record_ended();
  void begin_long();
  std::optional<Role> long_role();
  std::optional<Role> long_tag_role();
  static std::optional<Role> role_of_kept(Envelope::Role role);
  void long_token();
  void long_ended();
  void piece_ended();
  void finish_envelope();

  void token_done();
  void pass(std::string_view text);
  void aside(uint64_t length, std::string_view reason);
  void fault(std::string reason);
  std::string too_deep() const;
  std::string too_long() const;
  bool is_element() const { return role_ == Role::kRecord || role_ == Role::kContext; }
  size_t depth() const { return envelope_.depth() + open_.size(); }

  const CutterSettings& settings_;
  ElementListener& listener_;
  Encoding encoding_ = Encoding::kUtf8;
  Envelope envelope_;
  MarkupScanner scanner_;
  TagParser tag_;

  Mode mode_ = Mode::kEnvelope;
  Role role_ = Role::kNothing;
  bool root_seen_ = false;
  uint64_t begin_ = 0;  // of what is at hand, or of its part that is not yet done with; in bytes
  uint64_t end_ = UINT64_MAX;  // of the document, once it is known
  LineCounter lines_;          // at begin_

  std::string kept_;         // the token or element at hand
  uint64_t kept_bytes_ = 0;  // what it was in the document
  std::string name_;         // kElement, kLong: of the element at hand
  size_t token_ = 0;         // kElement: where its last token begins in kept_
  struct Span {
    size_t begin, size;
  };
  std::vector<Span> open_;  // kElement: names of the elements that are open in it, in kept_
  std::string fault_;       // kElement: why it cannot be told

  // kLong. The piece that is not yet told of begins at begin_.
  uint64_t piece_ = 0;                // bytes of it
  LineCounter piece_lines_;           // at its end
  uint64_t depth_ = 0;                // open elements, of an element at hand
  MarkupScanner::Place piece_place_;  // as at begin_
  uint64_t piece_depth_ = 0;          // as at begin_

  std::string rest_reason_;
  bool rest_told_ = false;  // a part of the rest
};

}  // namespace girdle::xml
