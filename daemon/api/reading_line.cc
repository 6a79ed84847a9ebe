#include "api/reading_line.h"

#include "base/time.h"

namespace girdle::api {
namespace {

std::string_view counts_text(const ledger::StoredReading& reading) {
  if (!reading.live) return "superseded";
  if (reading.pair != 0) return "second_route";
  return reading.subject == 0 ? "unbound" : "yes";
}

template <class Value>
void value_member(base::JsonWriter& json, std::string_view name, const Value& value) {
  std::string text;
  model::write_json(text, value);
  json.key(name).raw(text);
}

void write_binding(base::JsonWriter& json, const std::optional<ledger::BindingRow>& binding) {
  json.key("bound_by");
  if (!binding) {
    json.null();
    return;
  }
  json.begin_object().member("who", std::string_view(binding->by.who)).member("why", std::string_view(binding->by.why));
  json.member("at", std::string_view(base::format_rfc3339(binding->at))).end_object();
}

}  // namespace

void write_reading(base::JsonWriter& json, ledger::Ledger& ledger, const ledger::ReadingLine& line,
                   const std::vector<ledger::Receipt>* duplicates) {
  const ledger::StoredReading& stored = line.stored;
  json.begin_object().member("id", stored.id);
  value_member(json, "reading", stored.reading);
  json.member("counts", counts_text(stored)).member_or_null("key", line.key);
  json.member("intake", std::string_view(ledger.intake_name(stored.intake)));
  json.member("document", std::string_view(ledger.document_name(stored.document)));
  json.member("came_at", std::string_view(base::format_rfc3339(stored.came_at)));
  write_binding(json, line.binding);
  if (duplicates) {
    json.key("duplicates").begin_array();
    for (const ledger::Receipt& receipt : *duplicates) {
      json.begin_object()
          .member("intake", std::string_view(receipt.intake))
          .member("document", std::string_view(receipt.name));
      json.member("came_at", std::string_view(base::format_rfc3339(receipt.came_at))).end_object();
    }
    json.end_array();
  }
  json.end_object();
}

void write_declaration(base::JsonWriter& json, const ledger::DeclarationLine& line) {
  json.begin_object().member("id", line.stored.id).member("key", std::string_view(line.key));
  value_member(json, "declaration", line.stored.declaration);
  json.member("intake", std::string_view(line.arrival.intake)).member("document", std::string_view(line.arrival.name));
  json.member("came_at", std::string_view(base::format_rfc3339(line.arrival.came_at))).end_object();
}

}  // namespace girdle::api
