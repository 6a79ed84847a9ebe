#include "delivery/request_parts.h"

#include <algorithm>

#include "base/text.h"
#include "delivery/uri_text.h"

namespace girdle::delivery {
namespace {

using base::in_quotes;
using base::input_error;
using base::Result;

// RFC 9112 section 3: what every server is asked to take.
constexpr size_t kLongestLine = 8'000;

constexpr std::string_view kMethods[] = {"POST", "PUT", "PATCH"};

// Ours, and those that say how the message is framed or where it goes.
constexpr std::string_view kTakenNames[] = {
    "host",       "content-length", "content-type",  "content-encoding", "transfer-encoding",
    "connection", "keep-alive",     "authorization", "user-agent",       "expect",
    "te",         "trailer",        "upgrade",       "http2-settings"};
constexpr std::string_view kTakenBeginnings[] = {"webhook-", "proxy-"};

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = base::lower(c);
  return out;
}

// RFC 9110 5.6.2.
bool is_token(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) {
    return base::is_letter(c) || base::is_digit(c) ||
           std::string_view("!#$%&'*+-.^_`|~").find(c) != std::string_view::npos;
  });
}

// Many servers decode a path before they look for "..", and some take "\" for "/".
bool leads_elsewhere(std::string_view text) {
  size_t start = 0;
  for (size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && text[i] != '/' && text[i] != '\\') continue;
    const std::string_view part = text.substr(start, i - start);
    start = i + 1;
    if (!part.empty() && part.find_first_not_of('.') == std::string_view::npos) return true;
  }
  return false;
}

// Why the text cannot be a segment; nullptr where it can.
const char* unfit_segment(std::string_view text) {
  if (text.empty()) return "an empty text is no segment of a path";
  if (leads_elsewhere(text)) return "a segment of dots leads to another place";
  if (std::ranges::any_of(text, base::is_control))
    return "a control character has no place in a path";
  return nullptr;
}

}  // namespace

bool is_field_value(std::string_view text) {
  if (text.empty()) return true;
  const auto is_blank = [](char c) { return c == ' ' || c == '\t'; };
  if (is_blank(text.front()) || is_blank(text.back())) return false;
  return std::all_of(text.begin(), text.end(),
                     [&](char c) { return base::is_visible(c) || is_blank(c); });
}

// Says all that is wrong with the parts of one request.
class RequestCompiler {
 public:
  RequestCompiler(const config::Outlet& outlet, const base::Zone& zone,
                  const config::Report& report)
      : request_(outlet.webhook.request), outlet_(outlet), zone_(zone), report_(report) {}

  std::optional<RequestParts> compile(const Url& url) {
    const size_t before = report_.count();
    split(url);
    read_method();
    for (const config::Leaf& source : request_.path) add_segment(source);
    for (const auto& [name, source] : request_.query) add_parameter(name, source);
    for (const auto& [name, source] : request_.headers) add_field(name, source);
    if (report_.count() != before) return std::nullopt;
    return std::move(parts_);
  }

 private:
  void split(const Url& url) {
    const size_t mark = url.target.find('?');
    parts_.path_ = url.target.substr(0, mark);
    if (mark != std::string::npos) parts_.query_ = url.target.substr(mark);
    if (!request_.path.empty() && parts_.path_.ends_with('/')) parts_.path_.pop_back();
  }

  void read_method() {
    parts_.method_ = request_.method;
    if (std::find(std::begin(kMethods), std::end(kMethods), request_.method) != std::end(kMethods))
      return;
    report_(outlet_.webhook.mark, "method: " + in_quotes(request_.method) +
                                      " carries no outcome; it is " + base::listed(kMethods, "or"));
  }

  std::optional<Leaf> read(const config::Leaf& source, std::string_view part) {
    auto leaf = Leaf::compile(source, Leaf::Holds::kTexts, zone_, report_);
    if (!leaf || leaf->is_constant()) return leaf;
    parts_.ask_the_event_ = true;
    if (outlet_.batch.count > 1) {
      report_(source.mark, std::string(part) + ": a batch has several outcomes and one request: " +
                               leaf->name() + " can stand in its body alone");
    }
    return leaf;
  }

  void add_segment(const config::Leaf& source) {
    auto leaf = read(source, "path");
    if (!leaf) return;
    if (!leaf->always_has_value()) {
      report_(source.mark,
              "path: " + leaf->name() +
                  " is not in every event, and a segment has to be there; give a  default");
    } else if (leaf->is_constant()) {
      if (const char* why = unfit_segment(leaf->constant().text))
        report_(source.mark, std::string("path: ") + why);
    }
    parts_.segments_.push_back(std::move(*leaf));
  }

  void add_parameter(const config::Text& name, const config::Leaf& source) {
    if (name.text.empty() || !base::is_utf8(name.text))
      report_(name.mark, "query: a name is a text of UTF-8, not " + in_quotes(name.text));
    auto leaf = read(source, "query");
    if (leaf) parts_.parameters_.push_back({percent_encoded(name.text), std::move(*leaf)});
  }

  void add_field(const config::Text& name, const config::Leaf& source) {
    check_field_name(name);
    auto leaf = read(source, "headers");
    if (!leaf) return;
    if (leaf->is_constant() && !is_field_value(leaf->constant().text)) {
      report_(source.mark, "headers: " + in_quotes(leaf->constant().text) +
                               " cannot stand in a header: visible ASCII can, and spaces inside");
    }
    parts_.fields_.push_back({lower(name.text), std::move(*leaf)});
  }

  void check_field_name(const config::Text& name) const {
    const std::string key = lower(name.text);
    const auto is = [&](std::string_view other) { return other == key; };
    const auto begins = [&](std::string_view beginning) { return key.starts_with(beginning); };
    if (!is_token(key)) {
      report_(name.mark, "headers: " + in_quotes(name.text) +
                             " is no name of a header: letters, digits and \"-\"");
    } else if (key == "content-type") {
      report_(name.mark, "headers: content-type follows from  body");
    } else if (key == "authorization") {
      report_(name.mark,
              "headers: authorization is sent for  bearer, basic  and  oauth, which take secrets "
              "from files");
    } else if (std::any_of(std::begin(kTakenNames), std::end(kTakenNames), is) ||
               std::any_of(std::begin(kTakenBeginnings), std::end(kTakenBeginnings), begins) ||
               (outlet_.body.kind == config::Body::Kind::kBinary && begins("ce-"))) {
      report_(name.mark,
              "headers: " + in_quotes(name.text) + " is written by girdled itself, or never sent");
    } else if (std::any_of(parts_.fields_.begin(), parts_.fields_.end(),
                           [&](const auto& field) { return field.name == key; })) {
      report_(name.mark, "headers: " + in_quotes(name.text) + " stands there twice");
    }
  }

  const config::Request& request_;
  const config::Outlet& outlet_;
  const base::Zone& zone_;
  const config::Report& report_;
  RequestParts parts_;
};

std::optional<RequestParts> RequestParts::compile(const Url& url, const config::Outlet& outlet,
                                                  const base::Zone& zone,
                                                  const config::Report& report) {
  return RequestCompiler(outlet, zone, report).compile(url);
}

Result<void> RequestParts::append_request_line(std::string& out, const ParsedEvent& event) {
  const size_t start = out.size();
  out.append(method_).append(" ").append(path_);
  for (const Leaf& segment : segments_) {
    const auto value = segment.value(event, scratch_);
    if (!value) return value.error();
    if (const char* why = unfit_segment(value->text)) {
      return input_error(segment.name() + ": " + in_quotes(value->text) + ": " + why);
    }
    out.append("/").append(percent_encoded(value->text));
  }
  out += query_;
  bool first = query_.empty();
  for (const Named& parameter : parameters_) {
    const auto value = parameter.leaf.value(event, scratch_);
    if (!value) return value.error();
    if (value->kind == Value::Kind::kNone) continue;
    out.append(first ? "?" : "&")
        .append(parameter.name)
        .append("=")
        .append(percent_encoded(value->text));
    first = false;
  }
  if (out.size() - start <= kLongestLine) return {};
  return input_error(
      "path and query are longer than 8,000 characters, which receivers need not take");
}

Result<void> RequestParts::append_fields(std::string& out, const ParsedEvent& event) {
  for (const Named& field : fields_) {
    const auto value = field.leaf.value(event, scratch_);
    if (!value) return value.error();
    if (value->kind == Value::Kind::kNone) continue;
    if (!is_field_value(value->text)) {
      return input_error(field.leaf.name() + ": " + in_quotes(value->text) +
                         " cannot stand in the header " + field.name +
                         ": visible ASCII can, and spaces inside");
    }
    out.append(field.name).append(": ").append(value->text).append("\r\n");
  }
  return {};
}

}  // namespace girdle::delivery
