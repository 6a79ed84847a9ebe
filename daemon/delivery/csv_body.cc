#include "delivery/csv_body.h"

#include <vector>

#include "base/text.h"
#include "delivery/leaf.h"
#include "delivery/own_body.h"

namespace girdle::delivery {
namespace {

bool needs_quotes(std::string_view cell, char delimiter) {
  if (cell.empty()) return false;
  const auto is_space = [](char c) { return c == ' ' || c == '\t'; };
  if (is_space(cell.front()) || is_space(cell.back())) return true;
  for (const char c : cell) {
    if (c == delimiter || c == '"' || c == '\r' || c == '\n') return true;
  }
  return false;
}

void append_quoted(std::string& out, std::string_view cell) {
  out += '"';
  for (const char c : cell) {
    if (c == '"') out += '"';
    out += c;
  }
  out += '"';
}

class CsvBody final : public OwnBody {
 public:
  CsvBody(char delimiter, bool header) : delimiter_(delimiter), has_header_(header) {}

  void add_column(const std::string& name, Leaf leaf) {
    append_cell(header_, name, columns_.empty());
    columns_.push_back(std::move(leaf));
  }

  std::string_view content_type() const override {  // RFC 4180 section 3
    return has_header_ ? "text/csv; charset=utf-8; header=present"
                       : "text/csv; charset=utf-8; header=absent";
  }
  std::string_view extension() const override { return "csv"; }

  void begin(std::string& out) override {
    if (has_header_) out.append(header_).append("\r\n");
  }

 protected:
  base::Result<void> write(std::string& out, const ParsedEvent& event) override {
    const size_t start = out.size();
    for (size_t i = 0; i < columns_.size(); ++i) {
      const auto value = columns_[i].value(event, scratch_);
      if (!value) return value.error();
      if (value->text.find('\0') != std::string_view::npos) {
        return base::input_error(columns_[i].name() + ": " + base::in_quotes(value->text) +
                                 " has a NUL, which no row of CSV can hold");
      }
      append_cell(out, value->text, i == 0);
    }
    // Many importers skip an empty line.
    if (out.size() == start) out += "\"\"";
    out += "\r\n";
    return {};
  }

 private:
  void append_cell(std::string& out, std::string_view cell, bool first) const {
    if (!first) out += delimiter_;
    if (needs_quotes(cell, delimiter_)) {
      append_quoted(out, cell);
    } else {
      out += cell;
    }
  }

  const char delimiter_;
  const bool has_header_;
  std::string header_;
  std::vector<Leaf> columns_;
  std::string scratch_;
};

bool is_name(std::string_view name) {
  return !name.empty() && base::is_utf8(name) && name.find('\0') == std::string_view::npos;
}

}  // namespace

std::unique_ptr<Body> make_csv_body(const config::Outlet& outlet, const base::Zone& zone,
                                    const config::Report& report) {
  const size_t before = report.count();
  const config::Body& body = outlet.body;
  const auto delimiter = static_cast<unsigned char>(body.delimiter);
  if (body.fields.empty()) report(body.mark, "a row has at least one column");
  if (delimiter >= 0x7F || (delimiter < ' ' && delimiter != '\t') || delimiter == '"' ||
      delimiter == ' ') {
    report(body.mark, "the delimiter is one visible character of ASCII but the quote, or a tab");
  }
  auto csv = std::make_unique<CsvBody>(body.delimiter, body.header);
  for (const auto& [name, source] : body.fields) {
    if (!is_name(name.text))
      report(name.mark, "a column's name is a text of UTF-8, not " + base::in_quotes(name.text));
    auto leaf = Leaf::compile(source, Leaf::Holds::kTexts, zone, report);
    if (leaf) csv->add_column(name.text, std::move(*leaf));
  }
  if (report.count() != before) return nullptr;
  return csv;
}

}  // namespace girdle::delivery
