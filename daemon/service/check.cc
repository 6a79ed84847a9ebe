#include "service/check.h"

#include <algorithm>

#include "api/tls_server.h"
#include "base/time.h"
#include "delivery/open_senders.h"
#include "reading/mapper.h"

namespace girdle::service {
namespace {

// A share may be down at the start, so it is worth a look and no more.
void look_for_folder(const config::Settings& settings, const config::DropFolder& folder, config::Problems& notices) {
  std::error_code failed;
  if (folder.path.empty() || std::filesystem::is_directory(folder.path, failed)) return;
  notices.push_back({settings.file.string(), folder.mark,
                     "path: there is no folder " + folder.path.string() + " now; outcomes wait until there is"});
}

void check_outlets(const config::Settings& settings, config::Problems& problems, config::Problems& notices) {
  const std::string file = settings.file.string();
  const auto zone = base::Zone::find(settings.timezone);
  for (const config::Outlet& outlet : settings.outlets) {
    if (!outlet.whole) continue;  // what is missing of it was told
    delivery::check_senders(outlet, zone ? *zone : base::Zone::utc(), config::Report(file, problems));
    if (outlet.folder) look_for_folder(settings, *outlet.folder, notices);
  }
}

// What the server would say when it starts.
void check_certificate(const config::Settings& settings, config::Problems& problems) {
  const config::Api& api = settings.api;
  if (api.certificate_file.empty() || !api.key.given()) return;
  auto tls = api::TlsServer::create(api.certificate_file, api.key.path);
  if (!tls) problems.push_back({settings.file.string(), api.key.mark, "key_file: " + tls.error().text});
}

// For trying a reader whose own mapping is wrong: constants, so that it asks for no field of any document.
model::Mapping mapping_without_fields() {
  model::Mapping mapping;
  mapping.record = model::RecordKind::kScan;
  for (const auto& [field, value] : {std::pair("bench", "-"), {"stock_number", "-"}, {"scanned_at", "1970-01-01T00:00:00Z"}}) {
    model::FieldRule rule;
    rule.field = field;
    rule.has_constant = true;
    rule.constant = value;
    mapping.fields.push_back(std::move(rule));
  }
  return mapping;
}

// Whether records can be made by the intake's mapping.
bool check_mapping(const config::Settings& settings, const config::Intake& intake, config::Problems& problems) {
  const size_t before = problems.size();
  for (const auto& fault : reading::Mapper::faults(intake.mapping, settings.timezone)) {
    // What is missing of a mapping that is not whole may be what was wrong with it.
    if (!intake.mapping_whole && fault.mark.line == 0) continue;
    problems.push_back({intake.mapping.file, fault.mark, fault.text});
  }
  return intake.mapping_whole && problems.size() == before;
}

bool check_options(const config::Settings& settings, const config::Intake& intake, const reading::Manifest& manifest,
                   const reading::Options& options, config::Problems& problems) {
  const auto wrong = reading::check_options(manifest, options);
  for (const auto& [option, text] : wrong) {
    const auto at = std::find_if(intake.options.begin(), intake.options.end(),
                                 [&, name = option](const auto& given) { return given.first == name; });
    problems.push_back({settings.file.string(), at == intake.options.end() ? intake.reader_mark : at->second.mark, text});
  }
  return wrong.empty();
}

// The folder that has bin/ with this program in it; empty where that cannot be told.
std::filesystem::path own_prefix() {
  std::error_code failed;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", failed);
  return failed ? std::filesystem::path() : program.parent_path().parent_path();
}

bool lies_in(const std::filesystem::path& file, const std::vector<std::filesystem::path>& folders) {
  return std::any_of(folders.begin(), folders.end(), [&](const std::filesystem::path& folder) {
    std::error_code failed;
    return std::filesystem::equivalent(file.parent_path(), folder, failed) && !failed;
  });
}

// What opens another reader like this one, when nobody waits any more for this one.
Checked::OpenReader opener(const std::shared_ptr<const reading::Catalogue>& catalogue, reading::Choice choice) {
  if (choice.isolation) choice.isolation->stop = {};
  return [catalogue, choice = std::move(choice)] { return reading::Reader::open(*catalogue, choice); };
}

// The intake's reader; nothing where it, its options or its mapping are wrong, and each of them is told.
std::shared_ptr<reading::Reader> open_reader(const config::Settings& settings, const config::Intake& intake,
                                             const std::shared_ptr<const reading::Catalogue>& catalogue,
                                             const std::stop_token& stop, config::Problems& problems,
                                             Checked::OpenReader& another) {
  const bool mapped = check_mapping(settings, intake, problems);
  if (intake.reader.empty()) return nullptr;
  reading::Choice choice;
  choice.reader = intake.reader;
  choice.mapping = mapped ? intake.mapping : mapping_without_fields();
  choice.timezone = settings.timezone;
  choice.max_record_bytes = intake.max_record_bytes;
  for (const auto& [name, value] : intake.options) choice.options.emplace_back(name, value.text);
  const reading::Manifest* manifest = catalogue->find(intake.reader);
  if (manifest != nullptr && !check_options(settings, intake, *manifest, choice.options, problems)) return nullptr;
  if (manifest != nullptr) choice.isolation = isolation_of(intake.isolate, *manifest, stop);
  another = opener(catalogue, choice);
  auto reader = reading::Reader::open(*catalogue, std::move(choice));
  if (reader) return mapped ? std::move(reader).value() : nullptr;
  problems.push_back({settings.file.string(), intake.reader_mark, "reader: " + reader.error().text});
  return nullptr;
}

}  // namespace

std::vector<std::filesystem::path> own_reader_folders() {
  const std::filesystem::path prefix = own_prefix();
  if (prefix.empty()) return {};
  // The build tree has bin/ and readers/ side by side; an installation has bin/ and the library folder.
  return {prefix / "readers", (prefix / GIRDLE_READERS_FROM_PREFIX).lexically_normal()};
}

std::optional<reading::Isolation> isolation_of(config::Intake::Isolate isolate, const reading::Manifest& manifest,
                                               const std::stop_token& stop) {
  using enum config::Intake::Isolate;
  const bool is_isolated = isolate == kAlways || (isolate == kForeign && !lies_in(manifest.library, own_reader_folders()));
  if (!is_isolated) return std::nullopt;
  reading::Isolation isolation;
  isolation.host = reader_host_program();
  isolation.stop = stop;
  return isolation;
}

std::filesystem::path reader_host_program() {
  const std::filesystem::path prefix = own_prefix();
  // In the build tree it is beside girdled.
  for (const char* folder : {"bin", GIRDLE_PROGRAMS_FROM_PREFIX}) {
    const auto program = (prefix / folder / "girdled-reader-host").lexically_normal();
    std::error_code failed;
    if (std::filesystem::exists(program, failed)) return program;
  }
  return prefix / GIRDLE_PROGRAMS_FROM_PREFIX / "girdled-reader-host";
}

namespace {

// Every policy that the configuration names is built, so that one that takes over later is known to be right.
void build_policies(Checked& checked, base::Instant now, const std::filesystem::path& draft) {
  config::Settings& settings = checked.settings;
  choose_policy(settings, now);
  if (!draft.empty()) {
    config::LoadedPolicy loaded = config::load_policy(draft, settings.timezone);
    settings.policy = std::move(loaded.policy);
    checked.problems.insert(checked.problems.end(), loaded.problems.begin(), loaded.problems.end());
  }
  const config::Policy& policy = settings.policy;
  if (draft.empty() && policy.valid_from && *policy.valid_from > now) {
    checked.problems.push_back({policy.file, policy.valid_from_mark,
                                "valid_from: this policy is valid from " + base::format_rfc3339(*policy.valid_from) +
                                    " on; until then name it under next_policy, beside the policy in force"});
  }
  checked.rules = build_rules(settings, policy, checked.problems, &checked.notices);
  if (settings.next_policy) checked.next = build_rules(settings, *settings.next_policy, checked.problems, &checked.notices);
  if (settings.shadow_policy) checked.shadow = build_rules(settings, *settings.shadow_policy, checked.problems, &checked.notices);
}

}  // namespace

void choose_policy(config::Settings& settings, base::Instant now) {
  const auto& next = settings.next_policy;
  if (!next || !next->valid_from || *next->valid_from > now) return;
  settings.policy = std::move(*settings.next_policy);
  settings.next_policy.reset();
}

Checked check(const std::filesystem::path& config_file, base::Instant now, const std::stop_token& stop,
              const std::filesystem::path& draft) {
  Checked checked;
  config::Loaded loaded = config::load(config_file);
  checked.settings = std::move(loaded.settings);
  checked.problems = std::move(loaded.problems);
  const config::Settings& settings = checked.settings;
  build_policies(checked, now, draft);

  std::vector<std::filesystem::path> folders = settings.reader_folders;
  for (auto& folder : own_reader_folders()) folders.push_back(std::move(folder));
  std::vector<std::string> manifest_problems;
  const auto catalogue =
      std::make_shared<const reading::Catalogue>(reading::Catalogue::scan(folders, &manifest_problems));
  for (const std::string& text : manifest_problems) checked.problems.push_back({settings.file.string(), {}, text});
  for (const config::Intake& intake : settings.intakes) {
    Checked::OpenReader& another = checked.more_readers.emplace_back();
    checked.readers.push_back(open_reader(settings, intake, catalogue, stop, checked.problems, another));
  }
  check_certificate(settings, checked.problems);
  check_outlets(settings, checked.problems, checked.notices);
  config::put_in_order(checked.problems, settings.file.string());
  config::put_in_order(checked.notices, settings.policy.file);
  return checked;
}

}  // namespace girdle::service
