#include "draft/write_draft.h"

#include <algorithm>
#include <map>

#include "base/text.h"
#include "draft/evidence.h"
#include "draft/text_lines.h"
#include "draft/yaml_text.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostCandidates = 4;

// `"a" or "b"`: what may stand in place of FILL_IN.
std::string choices(const Setting& setting) {
  std::vector<std::string> shown;
  for (const std::string& candidate : setting.candidates) {
    if (shown.size() == kMostCandidates) break;
    shown.push_back(yaml_text(candidate));
  }
  if (setting.candidates.size() > shown.size()) {
    shown.push_back(std::to_string(setting.candidates.size() - shown.size()) + " others");
  }
  return listed(shown, "or");
}

std::string remark_of(const Setting& setting) {
  std::string remark = setting.is_open() ? choices(setting) : std::string();
  if (!remark.empty() && !setting.evidence.empty()) remark += ": ";
  return remark + setting.evidence;
}

// "   # text", on the line of what it belongs to, however long.
std::string beside(std::string_view remark) {
  return remark.empty() ? std::string() : "   # " + base::excerpt(remark, std::string::npos);
}

bool fits_a_block(std::string_view line) {
  return !line.empty() && line.front() != ' ' && line.front() != '\t' && line.back() != ' ' &&
         std::all_of(line.begin(), line.end(),
                     [](char c) { return static_cast<unsigned char>(c) >= 0x20 && c != 0x7F; });
}

// "name: value" on lines of its own; texts of several lines as a block where they can be one.
std::string block_entry(const Setting& setting, std::string_view indent) {
  std::string out(indent);
  out += yaml_text(setting.name) + ": ";
  const auto lines = lines_of(setting.value);
  if (lines.size() < 2 || !std::all_of(lines.begin(), lines.end(), &fits_a_block)) {
    return out + yaml_text(setting.value) + beside(remark_of(setting)) + '\n';
  }
  out += "|-" + beside(remark_of(setting)) + '\n';
  for (const std::string_view line : lines) {
    out.append(indent).append("  ").append(line).append("\n");
  }
  return out;
}

std::string columns_text(const std::vector<std::string>& columns) {
  if (columns.size() == 1) return yaml_text(columns.front());
  std::string text;
  for (const std::string& column : columns) text += (text.empty() ? "[" : ", ") + yaml_text(column);
  return text + ']';
}

// "{ from: no, decimal: "," }", without the words.
std::string rule_text(const FieldDraft& field) {
  std::string text = "{ ";
  text +=
      field.from.empty() ? "value: " + yaml_text(field.value) : "from: " + columns_text(field.from);
  for (const Setting& key : field.keys) text += ", " + key.name + ": " + yaml_text(key.value);
  return text + " }";
}

std::string words_text(const FieldDraft& field, std::string_view indent) {
  std::string text(indent);
  text += "  from: " + columns_text(field.from) + '\n';
  text.append(indent).append("  words:\n");
  for (const WordDraft& word : field.words) {
    text.append(indent).append("    ");
    text += '"' +
            [&] {
              const std::string quoted = yaml_text(word.theirs);
              return quoted.front() == '"' ? quoted.substr(1, quoted.size() - 2) : quoted;
            }() +
            "\": " + yaml_text(word.ours) + beside(word.evidence) + '\n';
  }
  return text;
}

// The lines of `text`, each as a comment.
std::string commented(std::string_view text) {
  std::string out;
  for (const std::string_view line : lines_of(text)) {
    out += "  # ";
    out += line.substr(std::min<size_t>(2, line.size()));
    out += '\n';
  }
  return out;
}

std::string field_text(const FieldDraft& field) {
  std::string remarks, rule;
  for (const std::string& line : field.evidence) remarks += yaml_comment(line, "  ");
  std::string open;
  for (const Setting& key : field.keys) {
    if (!remark_of(key).empty())
      open += (open.empty() ? "" : "; ") + key.name + ": " + remark_of(key);
  }
  if (field.words.empty()) {
    rule = "  " + yaml_text(field.field) + ": " + rule_text(field) + beside(open) + '\n';
  } else {
    rule = "  " + yaml_text(field.field) + ":\n" + words_text(field, "  ");
  }
  return remarks + (field.only_offered ? commented(rule) : rule);
}

std::string source_text(const Source& source) {
  const char* kind = source.kind == Source::Kind::kFolder   ? "folder"
                     : source.kind == Source::Kind::kSerial ? "serial"
                                                            : "tcp";
  std::string text = "    " + std::string(kind) + ":\n";
  for (const std::string& line : source.evidence) text += yaml_comment(line, "      ");
  for (const Setting& setting : source.settings) text += block_entry(setting, "      ");
  if (source.kind == Source::Kind::kFolder) return text;
  if (source.frame.empty()) return text + "      frame: line\n";
  text += "      frame:\n";
  // "range.start" is the key start of the map range.
  std::map<std::string, std::string> maps;
  for (Setting setting : source.frame) {
    const size_t point = setting.name.find('.');
    if (point == std::string::npos) {
      text += block_entry(setting, "        ");
      continue;
    }
    const std::string map = setting.name.substr(0, point);
    setting.name.erase(0, point + 1);
    maps[map] += block_entry(setting, "          ");
  }
  for (const auto& [name, entries] : maps) text += "        " + name + ":\n" + entries;
  return text;
}

std::string instruments_text(const ConfigurationParts& parts) {
  if (!parts.has_instrument) return {};
  std::vector<std::string> serials = parts.serials;
  std::string remark;
  if (serials.empty()) {
    serials.emplace_back(kFillIn);
    remark = "the serial number, as in the mapping";
  }
  std::string text = "instruments:\n";
  for (const std::string& serial : serials) {
    text += "  - serial: " + yaml_text(serial) + beside(remark) + '\n';
  }
  text +=
      "    # What its manual says, where it says so; without a scope natural findings are held for "
      "a person:\n"
      "    # bench: counter-1\n"
      "    # cycle: 45s             # the shortest time between two measurements\n"
      "    # scope: { color: \"[D..J]\", carat: \"[0.03..10]\", table_mm: \">= 1.5\" }\n"
      "    # ambient: { temperature_c: \"[-5..23]\", humidity_pct: \"<= 60\" }\n";
  return text;
}

}  // namespace

std::string write_mapping(const MappingDraft& draft, const std::string& headline) {
  std::string text = yaml_comment(headline, "");
  text += "record: " + std::string(model::kRecordKindNames[static_cast<size_t>(draft.record)]) + beside(draft.why_record) + '\n';
  text += "fields:\n";
  for (const FieldDraft& field : draft.fields) text += field_text(field);
  if (draft.left.empty()) return text;
  text += "  # Not taken; what is wanted can go in above:\n";
  for (const std::string& line : draft.left) text += "  # " + line + '\n';
  return text;
}

std::string write_configuration(const ConfigurationParts& parts, const std::string& headline) {
  std::string text = yaml_comment(headline, "");
  text += "site: FILL_IN   # the shop, office or vault, such as quay-street\n";
  if (parts.needs_zone) {
    text +=
        "timezone: FILL_IN   # of the instrument's clock, such as Europe/Brussels: its times "
        "give no offset\n";
  }
  text += "ledger: { path: state/ledger.db }\n";
  if (!parts.reader_folder.empty()) {
    text += "readers: [" + yaml_text(parts.reader_folder) + "]   # they run in processes of their own\n";
  }
  text += instruments_text(parts);
  text += "intakes:\n  - name: " + yaml_text(parts.name) + '\n';
  text += source_text(parts.source);
  for (const std::string& line : parts.problems) text += yaml_comment(line, "    ");
  for (const std::string& line : parts.proposal.evidence) text += yaml_comment(line, "    ");
  text += "    reader: " + yaml_text(parts.proposal.reader) + '\n';
  if (!parts.proposal.options.empty()) {
    text += "    options:\n";
    for (const Setting& option : parts.proposal.options) text += block_entry(option, "      ");
  }
  text += "    mapping: " + yaml_text(parts.name + ".mapping.yaml") + '\n';
  return text;
}

size_t open_points_in(std::string_view yaml) {
  size_t count = 0;
  for (const std::string_view line : lines_of(yaml)) {
    if (base::trimmed(line).starts_with('#')) continue;
    // A comment comes behind what it belongs to.
    const std::string_view value = line.substr(0, line.find("   # "));
    for (size_t at = value.find(kFillIn); at != value.npos; at = value.find(kFillIn, at + 1)) {
      const size_t end = at + kFillIn.size();
      const bool begins = at > 0 && (value[at - 1] == ' ' || value[at - 1] == '[');
      const bool ends = end == value.size() || value.find_first_of(" ,]}", end) == end;
      count += begins && ends;
    }
  }
  return count;
}

}  // namespace girdle::draft
