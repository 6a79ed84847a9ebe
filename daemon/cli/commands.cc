// run, check, preview.
#include "cli/commands.h"

#include <fstream>
#include <iostream>
#include <ostream>

#include "base/json.h"
#include "base/log.h"
#include "base/text.h"
#include "config/load.h"
#include "service/check.h"
#include "service/service.h"

namespace girdle::cli {
namespace {

using base::counted;

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

namespace {

// Notices are for the person who looks; what is wrong is the answer.
void tell(Screen& screen, const config::Problems& problems, std::string_view severity, bool as_json) {
  for (const config::Problem& problem : problems) {
    if (!as_json) {
      const bool is_notice = severity == "notice";
      (is_notice ? screen.err : screen.out) << (is_notice ? "notice: " : "") << config::format(problem) << '\n';
      continue;
    }
    std::string out;
    base::JsonWriter json(out);
    json.begin_object().member("file", std::string_view(problem.file));
    json.member("line", int64_t{problem.mark.line}).member("column", int64_t{problem.mark.column});
    json.member("severity", severity).member("text", std::string_view(problem.text)).end_object();
    screen.out << out << '\n';
  }
}

// "; policy counter version 3, of which 2 examples come out as they say"; nothing of the default.
std::string policy_text(const config::Policy& policy) {
  if (policy.file.empty()) return {};
  std::string text = "; policy " + policy.name + " version " + policy.version;
  if (policy.examples.empty()) return text;
  const bool is_one = policy.examples.size() == 1;
  return text + ", whose " + counted(policy.examples.size(), "example") + (is_one ? " comes out as it says" : " come out as they say");
}

}  // namespace

int check(Screen& screen, const std::filesystem::path& config, const std::filesystem::path& draft, bool as_json) {
  const service::Checked checked = service::check(config, base::SystemClock().now(), {}, draft);
  tell(screen, checked.problems, "error", as_json);
  tell(screen, checked.notices, "notice", as_json);
  if (!checked.ok()) return 1;
  if (!as_json) {
    screen.err << config.string() << ": all right; " << counted(checked.settings.intakes.size(), "intake") << ", "
               << counted(checked.settings.instruments.size(), "instrument") << ", "
               << counted(checked.settings.outlets.size(), "outlet") << policy_text(checked.settings.policy) << '\n';
  }
  return 0;
}

int run(Screen& screen, const std::filesystem::path& config, bool once) {
  service::Checked checked = service::check(config, base::SystemClock().now());
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
  const service::Checked checked = service::check(config, base::SystemClock().now());
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

}  // namespace girdle::cli
