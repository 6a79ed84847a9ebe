#include "base/gs1_link.h"

#include <algorithm>
#include <optional>

#include "base/gs1_identifier.h"
#include "base/text.h"

namespace girdle::base {
namespace {

using Codes = std::span<const std::string_view>;


std::optional<int> hex_digit(char c) {
  if (is_digit(c)) return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return std::nullopt;
}

bool is_number(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), is_digit);
}

// RFC 3986: the characters that a URI has, and % with two hexadecimal digits.
std::optional<Error> fault_of_characters(std::string_view uri) {
  constexpr std::string_view kMarks = "-._~:/?#[]@!$&'()*+,;=";
  for (size_t at = 0; at < uri.size(); ++at) {
    const char c = uri[at];
    if (is_digit(c) || is_letter(c) || kMarks.find(c) != kMarks.npos) continue;
    const bool encodes =
        at + 2 < uri.size() && c == '%' && hex_digit(uri[at + 1]) && hex_digit(uri[at + 2]);
    if (encodes) continue;
    if (c == '%')
      return input_error("in its address a % is not followed by two hexadecimal digits");
    return input_error("its address has \"" + excerpt(uri.substr(at, 1)) +
                       "\", which stands there only as % and two hexadecimal digits");
  }
  return std::nullopt;
}

// Of parts that fault_of_characters() has passed.
std::string decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  for (size_t at = 0; at < text.size(); ++at) {
    if (text[at] == '%') {
      out += static_cast<char>(*hex_digit(text[at + 1]) * 16 + *hex_digit(text[at + 2]));
      at += 2;
    } else {
      out += plus_is_space && text[at] == '+' ? ' ' : text[at];
    }
  }
  return out;
}

bool is_host_and_port(std::string_view text) {
  const bool is_literal = text.starts_with('[');
  if (is_literal) text.remove_prefix(1);
  const size_t end = std::min(text.find(is_literal ? ']' : ':'), text.size());
  const std::string_view host = text.substr(0, end);
  std::string_view port = text.substr(end);
  if (is_literal) {
    if (port.empty()) return false;
    port.remove_prefix(1);
  }
  const auto stands_there = [&](char c) {
    if (is_literal) return hex_digit(c).has_value() || c == ':' || c == '.';
    return is_digit(c) || is_letter(c) || c == '.' || c == '-' || c == '_';
  };
  if (host.empty() || !std::all_of(host.begin(), host.end(), stands_there)) return false;
  return port.empty() || (port.front() == ':' && is_number(port.substr(1)) && port.size() <= 6);
}

std::vector<std::string_view> parts_of(std::string_view text, std::string_view marks) {
  std::vector<std::string_view> parts;
  while (true) {
    const size_t end = text.find_first_of(marks);
    parts.push_back(text.substr(0, end));
    if (end == text.npos) return parts;
    text.remove_prefix(end + 1);
  }
}

// Whether the codes stand in the order of the sequence, some left out.
bool is_in_order(const Gs1Elements& codes, size_t from, Codes sequence) {
  auto at = sequence.begin();
  for (size_t i = from; i < codes.size(); ++i) {
    at = std::find(at, sequence.end(), codes[i].code);
    if (at == sequence.end()) return false;
    ++at;
  }
  return true;
}

std::string shown(Codes sequence) {
  std::vector<std::string> names;
  for (const std::string_view code : sequence) names.push_back(gs1_in_brackets(code));
  return listed(names);
}

class Link {
 public:
  Result<Gs1Elements> read(std::string_view path, std::string_view query) && {
    if (auto fault = read_path(path)) return *std::move(fault);
    in_path_ = elements_.size();
    for (const std::string_view parameter : parts_of(query, "&;")) {
      if (auto fault = read_parameter(parameter)) return *std::move(fault);
    }
    return std::move(elements_);
  }

 private:
  using Fault = std::optional<Error>;

  // From its end, for anything may stand before the key.
  Fault read_path(std::string_view path) {
    std::vector<std::string> segments;
    for (const std::string_view part : parts_of(path, "/"))
      segments.push_back(decoded(part, false));
    size_t at = segments.size();
    while (true) {
      const auto code = at < 2 ? std::nullopt : Gs1Identifier::named(segments[at - 2]);
      if (!code) return no_key(at < 2 ? "" : segments[at - 2]);
      at -= 2;
      if (code->is_link_key()) break;
    }
    for (; at < segments.size(); at += 2) {
      if (auto fault = add(segments[at], segments[at + 1])) return fault;
    }
    return check_order();
  }

  static Error no_key(std::string_view segment) {
    if (is_number(segment) && segment.size() >= 2 && segment.size() <= 4)
      return input_error(gs1_in_brackets(segment) +
                         " in its path is no application identifier of GS1");
    return input_error(
        "its path does not end with a key of GS1, as in /01/09520123456788 or "
        "/01/09520123456788/21/12345; compressed links, and words such as /gtin/, are not read");
  }

  Fault check_order() const {
    const auto sequences = Gs1Identifier::named(elements_[0].code)->link_qualifiers();
    const bool right = std::any_of(sequences.begin(), sequences.end(), [&](Codes sequence) {
      return is_in_order(elements_, 1, sequence);
    });
    if (right) return std::nullopt;
    const std::string key = gs1_in_brackets(elements_[0].code);
    if (sequences[0].empty()) return input_error("in its path nothing may stand after " + key);
    std::string text = "in its path after " + key + " may stand, in this order, ";
    for (size_t i = 0; i < sequences.size(); ++i)
      text += (i > 0 ? ", or " : "") + shown(sequences[i]);
    return input_error(std::move(text));
  }

  Fault read_parameter(std::string_view parameter) {
    const size_t end = std::min(parameter.find('='), parameter.size());
    const std::string key = decoded(parameter.substr(0, end), true);
    if (!is_number(key)) return std::nullopt;  // is not GS1's
    const auto identifier = Gs1Identifier::named(key);
    if (!identifier) {
      return input_error(gs1_in_brackets(excerpt(key)) +
                         " in its query is no application identifier of GS1");
    }
    if (!identifier->may_be_link_attribute() || belongs_to_path(key)) {
      return input_error(gs1_in_brackets(key) + " stands in its query and belongs to its path");
    }
    const std::string_view data = parameter.substr(std::min(end + 1, parameter.size()));
    return add(key, decoded(data, true));
  }

  // Whether it may stand in the path beside what stands there.
  bool belongs_to_path(std::string_view code) const {
    const auto sequences = Gs1Identifier::named(elements_[0].code)->link_qualifiers();
    return std::any_of(sequences.begin(), sequences.end(), [&](Codes sequence) {
      const auto has = [&](std::string_view one) {
        return std::find(sequence.begin(), sequence.end(), one) != sequence.end();
      };
      return has(code) && std::all_of(elements_.begin() + 1,
                                      elements_.begin() + static_cast<ptrdiff_t>(in_path_),
                                      [&](const Gs1Element& one) { return has(one.code); });
    });
  }

  Fault add(std::string_view code, const std::string& data) {
    if (gs1_data(elements_, code) != nullptr)
      return input_error("it has " + gs1_in_brackets(code) + " twice");
    const auto identifier = Gs1Identifier::named(code);
    if (!identifier->takes(data)) {
      return input_error("of " + gs1_in_brackets(code) + " \"" + excerpt(data) +
                         "\": " + identifier->fault(data));
    }
    elements_.push_back({std::string(code), data});
    return std::nullopt;
  }

  Gs1Elements elements_;
  size_t in_path_ = 0;
};

constexpr std::string_view kSchemes[] = {"https://", "http://", "HTTPS://", "HTTP://"};

}  // namespace

bool begins_as_link(std::string_view text) {
  const auto same = [](char a, char b) { return a == b || (is_letter(a) && (a ^ b) == 0x20); };
  return std::any_of(std::begin(kSchemes), std::end(kSchemes), [&](std::string_view scheme) {
    return text.size() >= scheme.size() &&
           std::equal(scheme.begin(), scheme.end(), text.begin(), same);
  });
}

Result<Gs1Elements> read_gs1_link(std::string_view uri) {
  const auto* const scheme =
      std::find_if(std::begin(kSchemes), std::end(kSchemes),
                   [&](std::string_view known) { return uri.starts_with(known); });
  if (scheme == std::end(kSchemes)) {
    return input_error(
        "its address begins with neither https:// nor http:// (nor HTTPS://, HTTP://)");
  }
  if (auto fault = fault_of_characters(uri)) return *std::move(fault);
  uri = uri.substr(scheme->size());
  uri = uri.substr(0, uri.find('#'));
  const size_t question = std::min(uri.find('?'), uri.size());
  const std::string_view query = uri.substr(std::min(question + 1, uri.size()));
  const std::string_view place = uri.substr(0, question);
  const size_t slash = std::min(place.find('/'), place.size());
  if (!is_host_and_port(place.substr(0, slash))) {
    return input_error("its address has no host, or one that is none: \"" +
                       excerpt(place.substr(0, slash)) + '"');
  }
  return Link().read(place.substr(slash), query);
}

}  // namespace girdle::base
