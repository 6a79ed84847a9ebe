#include "xml/element_cutter.h"

#include <algorithm>
#include <utility>

#include "kit/text.h"
#include "xml/characters.h"

namespace girdle::xml {

namespace {

std::string not_closed(std::string_view open) {
  if (open.empty()) return "not well-formed XML: an end tag where no element is open";
  return "not well-formed XML: an end tag that does not close " + kit::in_quotes(open) +
         ", which is open";
}

constexpr std::string_view kDoctype =
    "a document type declaration (DOCTYPE): entities and files outside the document are not read; "
    "export it without one";
constexpr std::string_view kLateDoctype =
    "not well-formed XML: a document type declaration inside the document";
constexpr std::string_view kLateDeclaration =
    "not well-formed XML: an XML declaration that is not at the very beginning of the document";
constexpr std::string_view kBrokenTag =
    "not well-formed XML: a < that begins no tag, or stands inside one; write &lt;";
constexpr std::string_view kTextOutside = "not well-formed XML: text outside the outermost element";
constexpr std::string_view kElementOutside =
    "not well-formed XML: an element after the end of the outermost one";
constexpr std::string_view kStrayText = "text between the records, in no element of its own";

// What the grammar finds at fault in a token other than a tag; empty where nothing is.
std::string content_fault(Token token, std::string_view text) {
  if (token == Token::kText) return text_fault(text);
  if (token == Token::kComment) return comment_fault(text);
  if (token != Token::kInstruction) return {};
  return is_declaration(text) ? std::string(kLateDeclaration) : instruction_fault(text);
}

}  // namespace

ElementCutter::ElementCutter(const CutterSettings& settings, ElementListener& listener)
    : settings_(settings), listener_(listener), envelope_(settings.path, settings.limit) {}

void ElementCutter::begin(Encoding encoding, uint64_t head_bytes, std::string_view head_text) {
  encoding_ = encoding;
  begin_ = head_bytes;
  lines_.pass(head_text);
}

void ElementCutter::take(std::string_view text) {
  while (!text.empty() && !listener_.stopped()) {
    switch (mode_) {
      case Mode::kEnvelope:
        text = in_envelope(text);
        break;
      case Mode::kElement:
        text = more_of_token(text);
        break;
      case Mode::kLong:
        text = in_long(text);
        break;
      case Mode::kRest:
        return;
    }
  }
}

std::string_view ElementCutter::in_envelope(std::string_view text) {
  if (kept_.empty()) {
    const std::string_view next = between_tokens(text);
    if (next.empty() || broken_off()) return next;
    text = next;
  }
  return more_of_token(text);
}

// Passes what holds nothing between two tokens, and begins the next one.
std::string_view ElementCutter::between_tokens(std::string_view text) {
  std::string_view next = text;
  if (envelope_.passes_over()) {
    next = text.substr(std::min(text.find('<'), text.size()));
  } else {
    next = without_leading_space(text);
  }
  pass(text.substr(0, text.size() - next.size()));
  if (next.empty()) return next;
  const bool outside = envelope_.depth() == 0;
  if (outside && next[0] != '<') break_off(kTextOutside);
  scanner_.begin();
  return next;
}

// Keeps what belongs to the token at hand; what follows it.
std::string_view ElementCutter::more_of_token(std::string_view text) {
  const size_t room = xml::room(text, settings_.limit - kept_bytes_, encoding_);
  if (room == 0) {
    begin_long();
    return text;
  }
  const std::string_view part = text.substr(0, scanner_.advance(text.data(), room));
  kept_.append(part);
  kept_bytes_ += source_bytes(part, encoding_);
  if (scanner_.ended() && mode_ == Mode::kElement) {
    element_token();
  } else if (scanner_.ended()) {
    envelope_token(scanner_.token());
  }
  return text.substr(part.size());
}

// The token in kept_ is whole.
void ElementCutter::envelope_token(Token token) {
  switch (token) {
    case Token::kStartTag:
    case Token::kEmptyTag:
      return start_tag(token);
    case Token::kEndTag:
      return end_tag();
    case Token::kText:
    case Token::kCdata:
      return envelope_.depth() == 0 ? break_off(kTextOutside) : stray_text(token);
    case Token::kInstruction:
    case Token::kComment:
      return comment_or_instruction(token);
    case Token::kDoctype:
      return break_off(root_seen_ ? kLateDoctype : kDoctype);
    case Token::kNone:
    case Token::kBroken:
      return break_off(kBrokenTag);
  }
}

// Of a token other than a tag, in kept_; empty where nothing is at fault.
std::string ElementCutter::token_fault(Token token) const {
  std::string fault = character_fault(kept_, encoding_);
  return fault.empty() ? content_fault(token, kept_) : fault;
}

// Both hold nothing, unless they are at fault. A declaration that comes late would have said how
// the document is written.
void ElementCutter::comment_or_instruction(Token token) {
  if (token == Token::kInstruction && is_declaration(kept_)) return break_off(kLateDeclaration);
  if (const std::string fault = token_fault(token); !fault.empty()) aside(kept_bytes_, fault);
  token_done();
}

void ElementCutter::start_tag(Token token) {
  if (root_seen_ && envelope_.depth() == 0) return break_off(kElementOutside);
  std::string fault = character_fault(kept_, encoding_);
  const std::string& grammar = tag_.parse(kept_);
  if (fault.empty()) fault = grammar;
  if (tag_.name().empty()) return break_off(fault);
  const Envelope::Role role = envelope_.role_of(tag_.name());
  if (const std::optional<Role> kept = role_of_kept(role)) {
    fault_ = std::move(fault);
    begin_element(*kept, token);
  } else if (!fault.empty()) {
    break_off(fault);
  } else {
    open_around(role, token);
  }
}

// An element around the records, or one that is passed over.
void ElementCutter::open_around(Envelope::Role role, Token token) {
  if (!root_seen_ && role == Envelope::Role::kPassedOver) {
    return break_off("the outermost element is " + kit::in_quotes(tag_.name()) + " where " +
                     kit::in_quotes(settings_.path.names[0]) + " must be");
  }
  root_seen_ = true;
  if (envelope_.depth() == settings_.max_depth) return break_off(too_deep());
  if (!envelope_.open(tag_.name(), role, kept_)) {
    return break_off("the elements around the records are together longer than " +
                     std::to_string(settings_.limit) + " bytes");
  }
  if (token == Token::kEmptyTag) envelope_.close();
  token_done();
}

void ElementCutter::end_tag() {
  if (envelope_.depth() == 0) return break_off(not_closed({}));
  if (end_tag_name(kept_) != envelope_.name()) return break_off(not_closed(envelope_.name()));
  envelope_.close();
  token_done();
}

// Text that is in no record; white space at its end holds nothing.
void ElementCutter::stray_text(Token token) {
  if (!envelope_.passes_over()) {
    const std::string fault = token_fault(token);
    aside(source_bytes(without_trailing_space(kept_), encoding_),
          fault.empty() ? kStrayText : fault);
  }
  token_done();
}

// What is at hand, from begin_ on.
void ElementCutter::aside(uint64_t length, std::string_view reason) {
  listener_.aside(begin_, std::min(length, end_ - begin_), lines_.line(), reason);
}

// The token in kept_ is done with.
void ElementCutter::token_done() {
  pass(kept_);
  kept_.clear();
  kept_bytes_ = 0;
}

void ElementCutter::begin_element(Role role, Token token) {
  role_ = role;
  name_ = tag_.name();
  mode_ = Mode::kElement;
  open_.clear();
  if (depth() == settings_.max_depth) fault(too_deep());
  if (token == Token::kEmptyTag) return element_ended();
  open_.push_back({1, name_.size()});
  token_ = kept_.size();
  scanner_.begin();
}

std::string ElementCutter::too_deep() const {
  return "nested more than " + std::to_string(settings_.max_depth) + " deep";
}

void ElementCutter::element_token() {
  const std::string_view token = std::string_view(kept_).substr(token_);
  const Token kind = scanner_.token();
  switch (kind) {
    case Token::kStartTag:
    case Token::kEmptyTag:
      start_inside(token, kind);
      break;
    case Token::kEndTag:
      end_inside(token);
      break;
    case Token::kText:
    case Token::kComment:
    case Token::kInstruction:
    case Token::kCdata:
      fault(content_fault(kind, token));
      break;
    case Token::kDoctype:
      break_off(kLateDoctype);
      break;
    case Token::kNone:
    case Token::kBroken:
      break_off(kBrokenTag);
      break;
  }
  if (mode_ != Mode::kElement) return;
  token_ = kept_.size();
  scanner_.begin();
}

void ElementCutter::start_inside(std::string_view tag, Token kind) {
  const std::string& grammar = tag_.parse(tag);
  if (tag_.name().empty()) return break_off(grammar);
  fault(grammar);
  if (depth() == settings_.max_depth) fault(too_deep());
  if (kind == Token::kStartTag) open_.push_back({token_ + 1, tag_.name().size()});
}

void ElementCutter::end_inside(std::string_view tag) {
  const Span open = open_.back();
  const std::string_view name = std::string_view(kept_).substr(open.begin, open.size);
  if (end_tag_name(tag) != name) return break_off(not_closed(name));
  open_.pop_back();
  if (open_.empty()) element_ended();
}

// The first fault is the one that is told.
void ElementCutter::fault(std::string reason) {
  if (fault_.empty()) fault_ = std::move(reason);
}

void ElementCutter::element_ended() {
  // Told before what the grammar made of such bytes.
  if (std::string bytes = character_fault(kept_, encoding_); !bytes.empty())
    fault_ = std::move(bytes);
  if (role_ == Role::kContext) {
    const std::string reason = envelope_.context(name_, kept_, fault_);
    if (!reason.empty()) aside(kept_bytes_, reason);
  } else {
    record_ended();
  }
  mode_ = Mode::kEnvelope;
  root_seen_ = true;
  fault_.clear();
  open_.clear();
  token_done();
}

void ElementCutter::record_ended() {
  envelope_.record();
  if (fault_.empty()) fault_ = envelope_.fault();
  if (!fault_.empty()) return aside(kept_bytes_, fault_);
  listener_.element({kept_, begin_, kept_bytes_, lines_.line(), envelope_});
}

// What is kept has come to the limit, and goes on.
void ElementCutter::begin_long() {
  depth_ = open_.size();
  if (mode_ == Mode::kEnvelope) {
    const std::optional<Role> role = long_role();
    if (!role) return break_off("a tag longer than " + std::to_string(settings_.limit) + " bytes");
    role_ = *role;
  }
  mode_ = Mode::kLong;
  root_seen_ = root_seen_ || is_element();
  piece_ = kept_bytes_;
  piece_lines_ = lines_;
  piece_lines_.pass(kept_);
  kept_.clear();
  kept_bytes_ = 0;
  open_.clear();
  fault_.clear();
  piece_ended();
}

// Of the token in kept_, which has no end yet; nothing where one so long is not read.
std::optional<ElementCutter::Role> ElementCutter::long_role() {
  switch (scanner_.token()) {
    case Token::kText:
    case Token::kCdata:
      return envelope_.passes_over() ? Role::kNothing : Role::kText;
    case Token::kComment:
    case Token::kInstruction:
      return Role::kNothing;
    case Token::kStartTag:
      return long_tag_role();
    case Token::kNone:
    case Token::kEmptyTag:
    case Token::kEndTag:
    case Token::kDoctype:
    case Token::kBroken:
      return std::nullopt;
  }
  return std::nullopt;
}

std::optional<ElementCutter::Role> ElementCutter::long_tag_role() {
  const std::string_view rest = std::string_view(kept_).substr(1);
  name_ = rest.substr(0, name_length(rest));
  const bool ended = name_.size() < rest.size();
  if (!ended || name_.empty() || (root_seen_ && envelope_.depth() == 0)) return std::nullopt;
  return role_of_kept(envelope_.role_of(name_));
}

// Of an element that is kept as a whole; nothing of any other.
std::optional<ElementCutter::Role> ElementCutter::role_of_kept(Envelope::Role role) {
  switch (role) {
    case Envelope::Role::kRecord:
      return Role::kRecord;
    case Envelope::Role::kContext:
      return Role::kContext;
    case Envelope::Role::kAncestor:
    case Envelope::Role::kPassedOver:
      return std::nullopt;
  }
  return std::nullopt;
}

std::string_view ElementCutter::in_long(std::string_view text) {
  const size_t room = xml::room(text, settings_.limit - piece_, encoding_);
  if (room == 0) {
    piece_ended();
    return text;
  }
  const size_t size = scanner_.advance(text.data(), room);
  const std::string_view part = text.substr(0, size);
  piece_ += source_bytes(part, encoding_);
  piece_lines_.pass(part);
  if (scanner_.ended()) long_token();
  return text.substr(size);
}

void ElementCutter::long_token() {
  const Token token = scanner_.token();
  if (token == Token::kBroken || token == Token::kDoctype) return break_off(kBrokenTag);
  if (token == Token::kStartTag) ++depth_;
  if (token == Token::kEndTag && depth_ > 0) --depth_;
  const bool is_tag =
      token == Token::kStartTag || token == Token::kEmptyTag || token == Token::kEndTag;
  if (is_element() && (depth_ > 0 || !is_tag)) {
    scanner_.begin();
  } else {
    long_ended();
  }
}

void ElementCutter::long_ended() {
  if (piece_ > 0) piece_ended();
  if (role_ == Role::kRecord) envelope_.record();
  if (role_ == Role::kContext) envelope_.context(name_, {}, too_long());
  mode_ = Mode::kEnvelope;
  piece_place_ = {};
  piece_depth_ = 0;
}

// The piece at hand of something long is done with.
void ElementCutter::piece_ended() {
  if (is_element()) aside(piece_, too_long());
  if (role_ == Role::kText) aside(piece_, kStrayText);
  begin_ += piece_;
  lines_ = piece_lines_;
  piece_ = 0;
  piece_place_ = scanner_.place();
  piece_depth_ = depth_;
}

std::string ElementCutter::too_long() const {
  return "an element longer than " + std::to_string(settings_.limit) + " bytes";
}

void ElementCutter::pass(std::string_view text) {
  begin_ += source_bytes(text, encoding_);
  lines_.pass(text);
}

void ElementCutter::finish(uint64_t fed) {
  end_ = fed;
  if (mode_ == Mode::kEnvelope && !kept_.empty() && scanner_.token() == Token::kText)
    stray_text(Token::kText);
  if (mode_ == Mode::kLong && role_ == Role::kText) long_ended();
  begin_ = std::min(begin_, fed);  // half a character counted as a whole one
  const bool inside = mode_ == Mode::kElement || mode_ == Mode::kLong || !kept_.empty();
  if (mode_ != Mode::kRest && inside) {
    static constexpr std::string_view kReason = "the document ends inside an element";
    if (begin_ == fed) aside(0, kReason);
    break_off(kReason);
  }
  if (mode_ == Mode::kEnvelope) finish_envelope();
  set_rest_aside(fed, true);
  begin_ = fed;
}

void ElementCutter::finish_envelope() {
  if (!root_seen_) {
    aside(0, "an empty document");
  } else if (envelope_.depth() > 0) {
    aside(0, "the document ends before its element " + kit::in_quotes(envelope_.name()) + " does");
  } else if (!settings_.may_be_absent) {
    if (const auto reason = envelope_.nothing_found()) aside(0, *reason);
  }
}

void ElementCutter::break_off(std::string_view reason) {
  rest_reason_ = reason;
  mode_ = Mode::kRest;
}

void ElementCutter::set_rest_aside(uint64_t fed, bool whole) {
  while (broken_off() && !listener_.stopped() && begin_ < fed) {
    const uint64_t length = std::min(fed - begin_, settings_.limit);
    if (!whole && length < settings_.limit) return;
    listener_.aside(begin_, length, std::exchange(rest_told_, true) ? 0 : lines_.line(),
                    rest_reason_);
    begin_ += length;
  }
}

void ElementCutter::save(kit::StateWriter& state) const {
  const Mode mode = mode_ == Mode::kElement ? Mode::kEnvelope : mode_;
  state.number(static_cast<uint64_t>(mode)).number(static_cast<uint64_t>(role_));
  state.number(root_seen_).number(lines_.line()).number(lines_.after_cr());
  state.text(mode == Mode::kLong ? name_ : std::string()).number(piece_depth_);
  state.number(static_cast<uint64_t>(piece_place_.state)).number(piece_place_.matched);
  state.number(static_cast<uint8_t>(piece_place_.quote)).number(piece_place_.slash);
  state.text(rest_reason_).number(rest_told_);
  envelope_.save(state);
}

void ElementCutter::take_up(kit::StateParser& state, Encoding encoding) {
  encoding_ = encoding;
  mode_ = static_cast<Mode>(state.number(static_cast<uint64_t>(Mode::kRest)));
  role_ = static_cast<Role>(state.number(static_cast<uint64_t>(Role::kNothing)));
  root_seen_ = state.flag();
  const uint64_t line = state.number();
  lines_.take_up(line, state.flag());
  piece_lines_ = lines_;
  name_ = state.text();
  depth_ = piece_depth_ = state.number();
  MarkupScanner::Place place;
  place.state = static_cast<MarkupScanner::State>(
      state.number(static_cast<uint64_t>(MarkupScanner::State::kEnded)));
  place.matched = static_cast<uint8_t>(state.number(UINT8_MAX));
  place.quote = static_cast<char>(state.number(INT8_MAX));
  place.slash = state.flag();
  rest_reason_ = state.text();
  rest_told_ = state.flag();
  envelope_.take_up(state);
  piece_place_ = place;
  if (mode_ == Mode::kElement || !scanner_.take_up(place)) state.fail();
  if (envelope_.depth() > 0 && !root_seen_) state.fail();
}

}  // namespace girdle::xml
