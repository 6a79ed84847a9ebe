#include "delivery/form_body.h"

#include <vector>

#include "base/text.h"
#include "delivery/body_form.h"
#include "delivery/form_text.h"
#include "delivery/leaf.h"
#include "delivery/own_body.h"

namespace girdle::delivery {
namespace {

class FormBody final : public OwnBody {
 public:
  struct Field {
    std::string name;  // encoded, with "="
    Leaf leaf;
  };
  explicit FormBody(std::vector<Field> fields) : fields_(std::move(fields)) {}

  std::string_view content_type() const override { return "application/x-www-form-urlencoded"; }
  std::string_view extension() const override { return "txt"; }

 protected:
  base::Result<void> write(std::string& out, const ParsedEvent& event) override {
    bool first = true;
    for (const Field& field : fields_) {
      const auto value = field.leaf.value(event, scratch_);
      if (!value) return value.error();
      if (value->kind == Value::Kind::kNone) continue;
      if (!first) out += '&';
      first = false;
      out += field.name;
      append_form(out, value->text);
    }
    return {};
  }

 private:
  std::vector<Field> fields_;
  std::string scratch_;
};

}  // namespace

std::unique_ptr<Body> make_form_body(const config::Outlet& outlet, const base::Zone& zone,
                                     const config::Report& report) {
  const size_t before = report.count();
  if (holds_several(outlet)) {
    report(outlet.body.mark,
           "a form holds one outcome: it goes with no batch and no folder; CSV, JSON and XML do");
  }
  if (outlet.body.fields.empty()) report(outlet.body.mark, "a form has at least one field");
  std::vector<FormBody::Field> fields;
  for (const auto& [name, source] : outlet.body.fields) {
    if (name.text.empty() || !base::is_utf8(name.text))
      report(name.mark, "a field's name is a text of UTF-8, not " + base::in_quotes(name.text));
    auto leaf = Leaf::compile(source, Leaf::Holds::kTexts, zone, report);
    if (!leaf) continue;
    std::string encoded;
    append_form(encoded, name.text);
    fields.push_back({encoded + "=", std::move(*leaf)});
  }
  if (report.count() != before) return nullptr;
  return std::make_unique<FormBody>(std::move(fields));
}

}  // namespace girdle::delivery
