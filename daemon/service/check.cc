#include "service/check.h"

#include <algorithm>

#include "base/time.h"
#include "delivery/signature.h"
#include "delivery/url.h"

namespace girdle::service {
namespace {

void check_outlets(const config::Settings& settings, config::Problems& problems) {
  const std::string file = settings.file.string();
  for (const config::Outlet& outlet : settings.outlets) {
    const config::Webhook& webhook = outlet.webhook;
    if (!webhook.url.empty()) {
      auto url = delivery::parse_url(webhook.url);
      if (!url) {
        problems.push_back({file, webhook.mark, "url: " + url.error().text});
      } else if (!url->tls && !webhook.insecure && !url->literal && url->host != "localhost") {
        problems.push_back({file, webhook.mark,
                            "url: http:// goes only to this machine's loopback; use https://, or say  insecure: true  in so many words"});
      } else if (!url->tls && !webhook.insecure && url->literal && url->host != "::1" && !url->host.starts_with("127.")) {
        problems.push_back({file, webhook.mark,
                            "url: http:// to " + url->host + " is not encrypted; use https://, or say  insecure: true  in so many words"});
      }
    }
    if (webhook.secret_file.empty()) continue;
    if (auto secrets = delivery::load_secrets(webhook.secret_file); !secrets) {
      problems.push_back({file, webhook.secret_mark, "secret_file: " + secrets.error().text});
    }
  }
}

std::shared_ptr<reading::Reader> open_reader(const config::Settings& settings, const config::Intake& intake,
                                             const reading::Catalogue& catalogue, config::Problems& problems) {
  const std::string file = settings.file.string();
  reading::Choice choice;
  choice.reader = intake.reader;
  choice.mapping = intake.mapping;
  choice.timezone = settings.timezone;
  choice.max_record_bytes = intake.max_record_bytes;
  for (const auto& [name, value] : intake.options) choice.options.emplace_back(name, value.text);
  if (const reading::Manifest* manifest = catalogue.find(intake.reader)) {
    const auto wrong = reading::check_options(*manifest, choice.options);
    for (const auto& [option, text] : wrong) {
      const auto at = std::find_if(intake.options.begin(), intake.options.end(),
                                   [&, name = option](const auto& given) { return given.first == name; });
      problems.push_back({file, at == intake.options.end() ? intake.reader_mark : at->second.mark, text});
    }
    if (!wrong.empty()) return nullptr;
  }
  auto reader = reading::Reader::open(catalogue, std::move(choice));
  if (reader) return std::move(reader).value();
  problems.push_back({file, intake.reader_mark, "reader: " + reader.error().text});
  return nullptr;
}

}  // namespace

std::vector<std::filesystem::path> own_reader_folders() {
  std::error_code failed;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", failed);
  std::vector<std::filesystem::path> folders;
  if (!failed) {
    // The build tree has bin/ and readers/ side by side; an installation has bin/ and the library folder.
    folders.push_back(program.parent_path().parent_path() / "readers");
    folders.push_back((program.parent_path().parent_path() / GIRDLE_READERS_FROM_PREFIX).lexically_normal());
  }
  return folders;
}

Checked check(const std::filesystem::path& config_file) {
  Checked checked;
  config::Loaded loaded = config::load(config_file);
  checked.settings = std::move(loaded.settings);
  checked.problems = std::move(loaded.problems);
  const config::Settings& settings = checked.settings;
  const bool sound = checked.problems.empty();

  std::vector<RuleProblem> rule_problems;
  checked.built = build_house(settings, rule_problems);
  for (const RuleProblem& problem : rule_problems) checked.problems.push_back({problem.file, problem.mark, problem.text});

  std::vector<std::filesystem::path> folders = settings.reader_folders;
  for (auto& folder : own_reader_folders()) folders.push_back(std::move(folder));
  std::vector<std::string> manifest_problems;
  const reading::Catalogue catalogue = reading::Catalogue::scan(folders, &manifest_problems);
  for (const std::string& text : manifest_problems) checked.problems.push_back({settings.file.string(), {}, text});
  for (const config::Intake& intake : settings.intakes) {
    // A mapping that could not be read was told already; its reader cannot be tried.
    const bool tryable = !intake.reader.empty() && (sound || !intake.mapping.fields.empty());
    checked.readers.push_back(tryable ? open_reader(settings, intake, catalogue, checked.problems) : nullptr);
  }
  check_outlets(settings, checked.problems);

  const std::string main_file = settings.file.string();
  std::stable_sort(checked.problems.begin(), checked.problems.end(), [&](const auto& a, const auto& b) {
    if (a.file != b.file) return (a.file == main_file) != (b.file == main_file) ? a.file == main_file : a.file < b.file;
    return std::pair(a.mark.line, a.mark.column) < std::pair(b.mark.line, b.mark.column);
  });
  return checked;
}

}  // namespace girdle::service
