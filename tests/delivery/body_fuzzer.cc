// Texts of outcomes through bodies of one's own and the parts of a request: whatever their bytes
// are, the message is well formed, and each text is read back as the event has it, or its outcome
// was refused.
#include <simdjson.h>

#include <cstdint>
#include <cstdlib>
#include <pugixml.hpp>
#include <string>
#include <vector>

#include "delivery/outlet_parts.h"
#include "delivery/sample_outcomes.h"
#include "delivery/webhook_request.h"

namespace {

using namespace girdle;
using namespace girdle::delivery;
using Kind = config::Body::Kind;

void check(bool holds) {
  if (!holds) std::abort();
}

const config::Leaf kStock = from("/data/subject/stock_number");
const config::Leaf kNote = from("/data/reasons/0/text");

std::unique_ptr<WebhookRequest> request_of(config::Outlet outlet) {
  Reported reported;
  auto request = WebhookRequest::create(parse_url("http://127.0.0.1/stock").value(), outlet,
                                        base::Zone::utc(), std::nullopt, reported.report());
  check(request != nullptr);
  return request;
}

config::Outlet with_tree(Kind kind, config::Tree root) {
  return outlet_of_tree(kind, std::move(root));
}
config::Outlet with_fields(Kind kind) {
  return outlet_of_fields(kind,
                          fields({{"sku", kStock}, {"note", kNote}, {"end", constant("end")}}));
}
config::Outlet with_part(std::vector<config::Leaf> path, Fields query, Fields headers) {
  config::Outlet outlet = with_tree(Kind::kJson, tree(kStock));
  outlet.webhook.request.path = std::move(path);
  outlet.webhook.request.query = std::move(query);
  outlet.webhook.request.headers = std::move(headers);
  return outlet;
}

// A request cut at its one empty line.
struct Message {
  std::string_view line, fields, body;

  explicit Message(std::string_view bytes) {
    const size_t line_end = bytes.find("\r\n"), head_end = bytes.find("\r\n\r\n");
    check(line_end != std::string_view::npos && head_end != std::string_view::npos);
    line = bytes.substr(0, line_end);
    fields = bytes.substr(line_end + 2, head_end + 2 - line_end - 2);
    body = bytes.substr(head_end + 4);
    check(line.starts_with("POST /stock") && line.ends_with(" HTTP/1.1"));
    for (const char c : line) check(c >= ' ' && c < '\x7f');
  }
};

// What one outlet sends of the outcome; nothing where that was refused.
class Outlet {
 public:
  explicit Outlet(const config::Outlet& outlet) : request_(request_of(outlet)) {}

  std::optional<Message> write(const model::Delivery& delivery) {
    WebhookRequest::Unwritable unwritable;
    const auto bytes =
        request_->write(buffer_, std::span(&delivery, 1), "", base::from_millis(0), unwritable);
    check(bytes.has_value() == unwritable.empty());
    if (!bytes) check(!unwritable.front().second.empty());
    return bytes ? std::optional(Message(*bytes)) : std::nullopt;
  }

 private:
  std::unique_ptr<WebhookRequest> request_;
  std::string buffer_;
};

std::string decoded(std::string_view text, bool plus_is_space) {
  const auto digit = [](char c) { return c <= '9' ? c - '0' : c - 'A' + 10; };
  std::string out;
  for (size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      check(i + 2 < text.size());
      out += static_cast<char>(digit(text[i + 1]) * 16 + digit(text[i + 2]));
      i += 2;
    } else {
      out += plus_is_space && text[i] == '+' ? ' ' : text[i];
    }
  }
  return out;
}

// RFC 4180 as its grammar has it, but for what it has no word on: any byte may stand in a cell.
std::vector<std::string> cells_of(std::string_view row) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (size_t i = 0; i < row.size(); ++i) {
    const char c = row[i];
    if (quoted) {
      if (c == '"' && i + 1 < row.size() && row[i + 1] == '"') {
        cells.back() += row[++i];
      } else if (c == '"') {
        quoted = false;
      } else {
        cells.back() += c;
      }
    } else if (c == '"') {
      check(cells.back().empty());
      quoted = true;
    } else if (c == ',') {
      cells.emplace_back();
    } else {
      check(c != '\r' || i + 2 == row.size());
      if (c == '\r' || c == '\n') continue;
      cells.back() += c;
    }
  }
  check(!quoted && row.ends_with("\r\n"));
  return cells;
}

void check_json(const Message& message, const std::string& stock, const std::string& note) {
  static simdjson::dom::parser parser;
  simdjson::dom::object object;
  check(parser.parse(simdjson::padded_string(message.body)).get(object) == simdjson::SUCCESS);
  check(object.size() == 3 && std::string_view(object["sku"]) == stock &&
        std::string_view(object["note"]) == note && std::string_view(object["end"]) == "end");
}

void check_xml(const Message& message, const std::string& stock, const std::string& note) {
  pugi::xml_document document;
  check(document.load_buffer(message.body.data(), message.body.size(),
                             pugi::parse_default | pugi::parse_ws_pcdata, pugi::encoding_utf8));
  const auto root = document.child("r");
  check(root.attribute("sku").value() == stock && root.child("note").child_value() == note &&
        std::string_view(root.child("end").child_value()) == "end");
}

void check_form(const Message& message, const std::string& stock, const std::string& note) {
  std::string_view rest = message.body;
  for (const auto& [name, value] :
       {std::pair("sku", stock), std::pair("note", note), std::pair("end", std::string("end"))}) {
    const std::string_view pair = rest.substr(0, rest.find('&'));
    check(decoded(pair, true) == std::string(name) + "=" + value);
    rest.remove_prefix(std::min(rest.size(), pair.size() + 1));
  }
  check(rest.empty());
}

void check_csv(const Message& message, const std::string& stock, const std::string& note) {
  check(message.body.starts_with("sku,note,end\r\n"));
  const auto cells = cells_of(message.body.substr(14));
  check(cells == std::vector<std::string>{stock, note, "end"});
}

void check_query(const Message& message, const std::string& stock) {
  constexpr std::string_view kStart = "POST /stock?sku=", kEnd = "&end=end HTTP/1.1";
  check(message.line.starts_with(kStart) && message.line.ends_with(kEnd));
  const auto value =
      message.line.substr(kStart.size(), message.line.size() - kStart.size() - kEnd.size());
  check(value.find_first_of("&#=+ ;") == std::string_view::npos && decoded(value, false) == stock);
}

void check_path(const Message& message, const std::string& stock) {
  constexpr std::string_view kStart = "POST /stock/", kEnd = "/end HTTP/1.1";
  check(message.line.starts_with(kStart) && message.line.ends_with(kEnd));
  const auto value =
      message.line.substr(kStart.size(), message.line.size() - kStart.size() - kEnd.size());
  check(!value.empty() && value.find_first_of("/?#; ") == std::string_view::npos &&
        decoded(value, false) == stock);
}

void check_headers(const Message& message, const std::string& stock) {
  check(message.fields.find("x-sku: " + stock + "\r\nx-end: end\r\n") != std::string_view::npos);
  size_t lines = 0;
  for (size_t i = 0; i < message.fields.size(); ++i) {
    const char c = message.fields[i];
    check((c >= ' ' && c < '\x7f') || c == '\t' || c == '\r' || c == '\n');
    if (c == '\n') check(i > 0 && message.fields[i - 1] == '\r');
    lines += c == '\n';
  }
  check(lines == 8);
}

struct Outlets {
  Outlet json{with_tree(
      Kind::kJson,
      object({{"sku", tree(kStock)}, {"note", tree(kNote)}, {"end", tree(constant("end"))}}))};
  Outlet xml{with_tree(Kind::kXml, object({{"r", object({{"@sku", tree(kStock)},
                                                         {"note", tree(kNote)},
                                                         {"end", tree(constant("end"))}})}}))};
  Outlet form{with_fields(Kind::kForm)};
  Outlet csv{with_fields(Kind::kCsv)};
  Outlet query{with_part({}, fields({{"sku", kStock}, {"end", constant("end")}}), {})};
  Outlet path{with_part({kStock, constant("end")}, {}, {})};
  Outlet headers{with_part({}, {}, fields({{"x-sku", kStock}, {"x-end", constant("end")}}))};
};

// As the event has them: bytes that are no UTF-8 are replaced there.
struct Told {
  std::string stock, note;

  explicit Told(const model::Outcome& outcome) {
    static ParsedEvent event;
    event.read(outcome);
    stock = text("/data/subject/stock_number", event);
    note = text("/data/reasons/0/text", event);
  }
  static std::string text(std::string_view pointer, const ParsedEvent& event) {
    EventPath path;
    std::string why;
    check(compile_path(pointer, path, why));
    return std::string(event.find(path)->get_string().value());
  }
};

}  // namespace

// Up to the first "|" the stock number, the rest the note.
extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static Outlets outlets;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  model::Delivery delivery = sample_delivery(1, 17, 2);
  const size_t bar = std::min(text.find('|'), text.size());
  delivery.outcome.stock_number = text.substr(0, bar);
  delivery.outcome.reasons.front().text = text.substr(std::min(bar + 1, text.size()));
  const Told told(delivery.outcome);

  const auto json = outlets.json.write(delivery);
  check(json.has_value());
  check_json(*json, told.stock, told.note);
  const auto form = outlets.form.write(delivery);
  check(form.has_value());
  check_form(*form, told.stock, told.note);
  if (const auto xml = outlets.xml.write(delivery)) check_xml(*xml, told.stock, told.note);
  if (const auto csv = outlets.csv.write(delivery)) check_csv(*csv, told.stock, told.note);
  if (const auto query = outlets.query.write(delivery)) check_query(*query, told.stock);
  if (const auto path = outlets.path.write(delivery)) check_path(*path, told.stock);
  if (const auto headers = outlets.headers.write(delivery)) check_headers(*headers, told.stock);
  return 0;
}
