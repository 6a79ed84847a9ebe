#include "delivery/answer_reading.h"

#include <simdjson.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include "base/json_pointer.h"
#include "base/text.h"
#include "delivery/sender.h"

namespace girdle::delivery {
namespace {

using Element = simdjson::dom::element;

constexpr size_t kLongestReference = 200, kLongestProblem = 400, kLongestPart = 250;
constexpr std::string_view kReplacement = "\xef\xbf\xbd";

// How long the character at the front of `text` is; 0 = it is no UTF-8.
size_t character(std::string_view text) {
  for (size_t size = 1; size <= std::min<size_t>(4, text.size()); ++size) {
    if (base::is_utf8(text.substr(0, size))) return size;
  }
  return 0;
}

uint32_t code_point(std::string_view character) {
  const auto byte = [&](size_t i) {
    return static_cast<uint32_t>(static_cast<unsigned char>(character[i]));
  };
  switch (character.size()) {
    case 1:
      return byte(0);
    case 2:
      return (byte(0) & 0x1f) << 6 | (byte(1) & 0x3f);
    case 3:
      return (byte(0) & 0x0f) << 12 | (byte(1) & 0x3f) << 6 | (byte(2) & 0x3f);
    default:
      return (byte(0) & 0x07) << 18 | (byte(1) & 0x3f) << 12 | (byte(2) & 0x3f) << 6 |
             (byte(3) & 0x3f);
  }
}

// Spaces, what a terminal takes for a command, line ends of Unicode, and what changes the direction
// of the text around.
bool is_space(uint32_t code) {
  return code <= ' ' || (code >= 0x7f && code <= 0xa0) || code == 0x061c ||
         (code >= 0x200b && code <= 0x200f) || (code >= 0x2028 && code <= 0x202e) ||
         (code >= 0x2060 && code <= 0x206f) || code == 0xfeff;
}

// The media type without its parameters, in lower case.
std::string media_type(std::string_view content_type) {
  std::string type(base::trimmed(content_type.substr(0, content_type.find(';'))));
  for (char& c : type) c = base::lower(c);
  return type;
}

bool is_problem(const Answer& answer) {
  return media_type(answer.content_type) == "application/problem+json";
}

std::optional<Element> element_at(const simdjson::dom::array& array, const std::string& token) {
  const auto place = base::pointer_place(token);
  Element found;
  if (!place || array.at(*place).get(found)) return std::nullopt;
  return found;
}

std::optional<Element> step(const Element& from, const std::string& token) {
  simdjson::dom::object object;
  simdjson::dom::array array;
  Element found;
  if (!from.get(object)) {
    if (object.at_key(token).get(found)) return std::nullopt;
    return found;
  }
  if (!from.get(array)) return element_at(array, token);
  return std::nullopt;
}

template <class Number>
std::string digits(Number number) {
  std::array<char, 32> bytes;
  const auto written = std::to_chars(bytes.data(), bytes.data() + bytes.size(), number);
  return {bytes.data(), written.ptr};
}

// A text or a number as text; empty for anything else.
std::string text_of(const Element& element) {
  std::string_view text;
  int64_t whole = 0;
  uint64_t large = 0;
  double real = 0;
  if (!element.get(text)) return std::string(text);
  if (element.is<int64_t>() && !element.get(whole)) return digits(whole);
  if (element.is<uint64_t>() && !element.get(large)) return digits(large);
  if (element.is<double>() && !element.get(real)) return digits(real);
  return {};
}

// RFC 9457 3.1: a member whose value has the wrong type is as if it were not there.
std::string_view member(const simdjson::dom::object& object, std::string_view name) {
  std::string_view text;
  if (object.at_key(name).get(text)) return {};
  return text;
}

// Adds `part` to `text`, unless it says the same.
void add(std::string& text, std::string part) {
  if (part.empty() || text == part) return;
  if (!text.empty()) text += ": ";
  text += part;
}

}  // namespace

std::string printable(std::string_view text, size_t limit) {
  std::string out;
  bool space = false;
  for (size_t size; !text.empty(); text.remove_prefix(size)) {
    const size_t known = character(text);
    size = std::max<size_t>(known, 1);
    if (known > 0 && is_space(code_point(text.substr(0, known)))) {
      space = !out.empty();
      continue;
    }
    const std::string_view next = known > 0 ? text.substr(0, known) : kReplacement;
    if (out.size() + (space ? 1 : 0) + next.size() > limit) break;
    if (space) out += ' ';
    space = false;
    out += next;
  }
  return out;
}

struct AnswerReader::Parser {
  // False where the body is no JSON.
  bool parse(std::string_view body) {
    return !json.parse(body.data(), body.size(), /*realloc_if_needed=*/true).get(root);
  }
  std::string problem(const Blanks& blanks, std::string_view sent) const;
  std::string reference(const std::vector<std::string>& path) const;

  simdjson::dom::parser json{AnswerParser::kMostOfBody};
  Element root;
};

std::string AnswerReader::Parser::problem(const Blanks& blanks, std::string_view sent) const {
  simdjson::dom::object object;
  if (root.get(object)) return {};
  const auto part = [&](std::string_view name) {
    return printable(blanks(member(object, name), sent), kLongestPart);
  };
  std::string text;
  add(text, part("title"));
  add(text, part("detail"));
  // The type is a URI that tells only who knows it; about:blank tells no more than the status.
  if (text.empty() && member(object, "type") != "about:blank") text = part("type");
  return printable(text, kLongestProblem);
}

std::string AnswerReader::Parser::reference(const std::vector<std::string>& path) const {
  std::optional<Element> at = root;
  for (const std::string& token : path) {
    at = step(*at, token);
    if (!at) return {};
  }
  return text_of(*at);
}

AnswerReader::AnswerReader() : parser_(std::make_unique<Parser>()) {}
AnswerReader::AnswerReader(AnswerReader&&) noexcept = default;
AnswerReader::~AnswerReader() = default;

base::Result<AnswerReader> AnswerReader::create(std::string_view reference, Blanks blanks) {
  AnswerReader reader;
  reader.blanks_ = std::move(blanks);
  if (reference == "-") return reader;
  auto tokens = base::pointer_tokens(reference);
  if (!tokens) {
    return base::input_error(base::in_quotes(reference) +
                             " is no JSON Pointer, as in /data/id; \"~\" is written ~0 and \"/\" "
                             "inside a name ~1");
  }
  reader.wants_reference_ = true;
  reader.path_ = std::move(*tokens);
  return reader;
}

// A reference that has one of our secrets in it is none.
bool AnswerReader::is_secret(const std::string& text, std::string_view sent) const {
  return blanks_(text, sent) != text;
}

ReadAnswer AnswerReader::read(const Answer& answer, std::string_view credentials) {
  ReadAnswer result;
  if (answer.body.empty()) return result;
  // The scheme before the space is no secret.
  const std::string_view sent =
      credentials.substr(std::min(credentials.find(' ') + 1, credentials.size()));
  result.first_bytes = printable(blanks_(answer.body, sent), Attempt::kKeptOfAnswer);
  const bool wants_problem = is_problem(answer);
  if (!wants_problem && !wants_reference_) return result;
  if (!parser_->parse(answer.body)) return result;
  if (wants_problem) result.problem = parser_->problem(blanks_, sent);
  if (!wants_reference_) return result;
  const std::string reference = parser_->reference(path_);
  if (!is_secret(reference, sent)) result.reference = printable(reference, kLongestReference);
  return result;
}

}  // namespace girdle::delivery
