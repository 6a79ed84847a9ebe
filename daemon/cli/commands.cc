// run, check, preview, decide.
#include "cli/commands.h"

#include <simdjson.h>

#include <fstream>
#include <iostream>
#include <ostream>

#include "base/json.h"
#include "base/log.h"
#include "config/load.h"
#include "policy/table.h"
#include "service/check.h"
#include "service/service.h"

namespace girdle::cli {
namespace {

std::string counted(size_t count, const char* thing) {
  return std::to_string(count) + ' ' + thing + (count == 1 ? "" : "s");
}

}  // namespace

int exit_code(const base::Error& error) {
  switch (error.fault) {
    case base::Fault::kInput: return 1;
    case base::Fault::kCall: return 2;
    case base::Fault::kEnvironment: return 3;
  }
  return 3;
}

int fail(Screen& screen, const base::Error& error) {
  screen.err << "girdled: " << error.text << '\n';
  return exit_code(error);
}

int check(Screen& screen, const std::filesystem::path& config, bool as_json) {
  const service::Checked checked = service::check(config);
  for (const config::Problem& problem : checked.problems) {
    if (!as_json) {
      screen.out << config::format(problem) << '\n';
      continue;
    }
    std::string out;
    base::JsonWriter json(out);
    json.begin_object().member("file", std::string_view(problem.file));
    json.member("line", int64_t{problem.mark.line}).member("column", int64_t{problem.mark.column});
    json.member("text", std::string_view(problem.text)).end_object();
    screen.out << out << '\n';
  }
  if (!checked.ok()) return 1;
  if (!as_json) {
    screen.err << config.string() << ": all right; " << counted(checked.settings.intakes.size(), "intake") << ", "
               << counted(checked.settings.instruments.size(), "instrument") << ", "
               << counted(checked.settings.outlets.size(), "outlet") << '\n';
  }
  return 0;
}

int run(Screen& screen, const std::filesystem::path& config, bool once) {
  service::Checked checked = service::check(config);
  if (!checked.ok()) {
    for (const config::Problem& problem : checked.problems) screen.err << config::format(problem) << '\n';
    screen.err << "girdled: the configuration is wrong; nothing was started\n";
    return 1;
  }
  base::SystemClock clock;
  const base::Log log = base::Log::to_stderr(checked.settings.log_level);
  auto code = service::run(std::move(checked), {config, once}, clock, log);
  return code ? *code : fail(screen, code.error());
}

namespace {

// The sample, read in pieces as the service would.
base::Result<void> read_sample(reading::Reader& reader, std::istream& sample, model::Records& records) {
  auto document = reader.begin();
  if (!document) return document.error();
  std::string piece(256 << 10, '\0');
  while (sample) {
    sample.read(piece.data(), static_cast<std::streamsize>(piece.size()));
    document->feed(std::string_view(piece.data(), static_cast<size_t>(sample.gcount())), records);
  }
  document->finish(true, records);
  return {};
}

void print_records(Screen& screen, const std::string& name, const model::Records& records) {
  const auto print = [&](const auto& list) {
    std::string line;
    for (const auto& record : list) {
      line.clear();
      model::write_json(line, record);
      screen.out << line << '\n';
    }
  };
  print(records.readings);
  print(records.declarations);
  print(records.scans);
  for (const model::Aside& aside : records.asides) {
    screen.err << name;
    if (aside.place.line > 0) screen.err << ':' << aside.place.line;
    screen.err << ": set aside: " << aside.reason << '\n';
  }
  for (const model::Ignored& ignored : records.ignored) {
    screen.err << name << ": " << counted(ignored.count, "record") << " ignored: " << ignored.why << '\n';
  }
}

}  // namespace

int preview(Screen& screen, const std::filesystem::path& config, const std::string& intake,
            const std::vector<std::filesystem::path>& samples) {
  const service::Checked checked = service::check(config);
  for (size_t i = 0; i < checked.settings.intakes.size(); ++i) {
    if (checked.settings.intakes[i].name != intake) continue;
    if (!checked.readers[i]) {
      for (const config::Problem& problem : checked.problems) screen.err << config::format(problem) << '\n';
      return 1;
    }
    bool any_aside = false;
    for (const auto& path : samples) {
      model::Records records;
      std::ifstream file;
      if (path != "-") file.open(path, std::ios::binary);
      if (path != "-" && !file) return fail(screen, base::input_error("the sample " + path.string() + " cannot be read"));
      auto done = read_sample(*checked.readers[i], path == "-" ? std::cin : file, records);
      if (!done) return fail(screen, done.error());
      print_records(screen, path.string(), records);
      any_aside = any_aside || !records.asides.empty();
    }
    return any_aside ? 1 : 0;
  }
  std::vector<std::string_view> names;
  for (const config::Intake& known : checked.settings.intakes) names.push_back(known.name);
  std::string text = "there is no intake \"" + intake + "\"";
  for (size_t i = 0; i < names.size(); ++i) text += (i == 0 ? "; there is " : ", ") + std::string(names[i]);
  return fail(screen, base::call_error(text));
}

namespace {

// Facts as JSON: numbers and decimal texts, strings, booleans, null; or {"type": …, "value": …} as in the published
// check values.
base::Result<policy::Value> value_of(simdjson::dom::element element, const std::string& name,
                                     std::optional<policy::Type> type) {
  const auto wrong = [&](const std::string& why) { return base::input_error("the fact \"" + name + "\" " + why); };
  switch (element.type()) {
    case simdjson::dom::element_type::NULL_VALUE: return policy::Value();
    case simdjson::dom::element_type::BOOL: return policy::Value(bool(element));
    case simdjson::dom::element_type::INT64: return policy::Value(base::Decimal(int64_t(element)));
    case simdjson::dom::element_type::UINT64:
    case simdjson::dom::element_type::DOUBLE: {
      const auto number = base::Decimal::parse(simdjson::minify(element));
      if (!number) return wrong("is a number that is out of bounds; give it as a text of digits");
      return policy::Value(*number);
    }
    case simdjson::dom::element_type::STRING: {
      const std::string_view text = element.get_string().value_unsafe();
      if (type) {
        if (auto value = policy::value_of_text(text, *type)) return *value;
      }
      return policy::Value(std::string(text));
    }
    case simdjson::dom::element_type::OBJECT: {
      std::string_view kind, text;
      if (element["type"].get(kind) != simdjson::SUCCESS) return wrong("is an object without a type");
      if (kind == "null") return policy::Value();
      const auto named = policy::type_named(kind);
      if (!named || element["value"].get(text) != simdjson::SUCCESS) {
        return wrong("has a type that is none of number, string, boolean and null");
      }
      if (auto value = policy::value_of_text(text, *named)) return *value;
      return wrong("is no " + std::string(kind));
    }
    case simdjson::dom::element_type::ARRAY: return wrong("is a list; facts are single values");
  }
  return wrong("is of an unknown kind");
}

base::Result<policy::Facts> facts_of(simdjson::dom::element element, const policy::Table& table) {
  simdjson::dom::object object;
  if (element.get(object) != simdjson::SUCCESS) return base::input_error("it is no JSON object of facts");
  policy::Facts facts;
  for (const auto field : object) {
    const std::string name(field.key);
    std::optional<policy::Type> type;
    for (size_t i = 0; i < table.fact_names().size(); ++i) {
      if (table.fact_names()[i] == name) type = table.fact_types()[i];
    }
    auto value = value_of(field.value, name, type);
    if (!value) return value.error();
    facts[name] = std::move(value).value();
  }
  return facts;
}

// Every JSON value of the input, one after another: one object over many lines, or one a line.
int decide_all(Screen& screen, const policy::Table& table, const std::string& name, const std::string& text, bool explain) {
  simdjson::dom::parser parser;
  simdjson::dom::document_stream stream;
  const size_t batch = std::max<size_t>(text.size() + simdjson::SIMDJSON_PADDING, 1 << 20);
  if (parser.parse_many(text.data(), text.size(), batch).get(stream) != simdjson::SUCCESS) {
    return fail(screen, base::input_error(name + ": it is no JSON"));
  }
  int number = 0;
  bool any_error = false;
  for (auto at = stream.begin(); at != stream.end(); ++at) {
    ++number;
    const auto say = [&](const std::string& why) {
      screen.err << "girdled: " << name << ": fact set " << number << ": " << why << '\n';
      any_error = true;
    };
    simdjson::dom::element element;
    if (const auto error = (*at).get(element); error != simdjson::SUCCESS) {
      say(simdjson::error_message(error));
      return 1;
    }
    auto facts = facts_of(element, table);
    if (!facts) {
      say(facts.error().text);
      continue;
    }
    std::string out;
    base::JsonWriter json(out);
    if (explain) {
      policy::write_json(json, table.explain(*facts));
    } else {
      policy::write_json(json, table.evaluate(*facts));
    }
    screen.out << out << '\n';
  }
  if (stream.truncated_bytes() > 0) {
    screen.err << "girdled: " << name << ": the last fact set is cut off\n";
    any_error = true;
  }
  return any_error ? 1 : 0;
}

}  // namespace

int decide(Screen& screen, const std::filesystem::path& table_file, const std::filesystem::path& input, bool explain) {
  const config::LoadedTable loaded = config::load_table(table_file);
  config::Problems problems = loaded.problems;
  const auto compiled = policy::Table::compile(service::table_spec(loaded.table));
  const auto* wrong = std::get_if<std::vector<policy::Problem>>(&compiled);
  if (wrong != nullptr) service::tell(loaded.table, *wrong, problems);
  if (wrong != nullptr || !problems.empty()) {
    config::put_in_order(problems, table_file.string());
    for (const config::Problem& problem : problems) screen.err << config::format(problem) << '\n';
    return 1;
  }
  std::ifstream file;
  if (input != "-") file.open(input, std::ios::binary);
  if (input != "-" && !file) return fail(screen, base::input_error("the facts " + input.string() + " cannot be read"));
  std::istream& from = input == "-" ? std::cin : file;
  std::string text((std::istreambuf_iterator<char>(from)), std::istreambuf_iterator<char>());
  text.reserve(text.size() + simdjson::SIMDJSON_PADDING);
  return decide_all(screen, std::get<policy::Table>(compiled), input.string(), text, explain);
}

}  // namespace girdle::cli
