// girdled.yaml without its intakes and outlets.
#include <arpa/inet.h>

#include <algorithm>
#include <map>

#include "base/text.h"
#include "config/parts.h"
#include "config/values.h"

namespace girdle::config {

std::string shown(const std::filesystem::path& path) {
  constexpr size_t kLongest = 4096;  // of the system's paths (PATH_MAX)
  return base::excerpt(path.string(), kLongest);
}

void Desk::needs_file(const Section& section, std::string_view key) const {
  const std::string text = section.text(key);
  if (text.empty()) return;
  switch (const auto file = path(text); files.kind(file)) {
    case Files::Kind::kFile:
      return;
    case Files::Kind::kMissing:
      return problem(section, key, "the file " + shown(file) + " does not exist");
    case Files::Kind::kFolder:
    case Files::Kind::kOther:
      return problem(section, key, shown(file) + " is not a file");
  }
}

std::filesystem::path Desk::file(const Section& section, std::string_view key) const {
  const std::string text = section.text(key);
  if (text.empty()) return {};
  needs_file(section, key);
  const auto file = path(text);
  return files.kind(file) == Files::Kind::kFile ? file : std::filesystem::path();
}

SecretFile Desk::secret(const Section& section, std::string_view key) const {
  const std::string text = section.text(key);
  if (text.empty()) return {};
  const auto credential = credential_of(text);
  if (!credential) return {path(text), false, section.mark(key)};
  const std::filesystem::path credentials = files.credentials();
  if (credentials.empty()) {
    problem(section, key,
            "credentials come from systemd, to its services: $CREDENTIALS_DIRECTORY is not set "
            "here; set it to their folder, or name a file");
    return {};
  }
  return {credentials / *credential, true, section.mark(key)};
}

void Desk::needs_folder(const Mark& mark, std::string_view key,
                        const std::filesystem::path& folder_path) const {
  switch (files.kind(folder_path)) {
    case Files::Kind::kFolder:
      return;
    case Files::Kind::kMissing:
      return report(mark, std::string(key) + ": the folder " + shown(folder_path) +
                              " does not exist; make it, or name another");
    case Files::Kind::kFile:
    case Files::Kind::kOther:
      return report(mark, std::string(key) + ": " + shown(folder_path) + " is not a folder");
  }
}

namespace {

std::map<std::string, Text> unary_tests(const Section& section,
                                        std::initializer_list<const char*> facts) {
  std::map<std::string, Text> tests;
  for (const char* fact : facts) {
    if (Text test = section.located(fact); !test.text.empty()) tests.emplace(fact, std::move(test));
  }
  return tests;
}

// The ledger's folder may come later, where one can be made.
void check_ledger(const Section& section, const Desk& desk, const std::filesystem::path& ledger) {
  const auto wrong = [&](const std::string& text) { desk.problem(section, "path", text); };
  switch (desk.files.kind(ledger)) {
    case Files::Kind::kFile:
      return;
    case Files::Kind::kFolder:
      return wrong(shown(ledger) + " is a folder; name the file inside it");
    case Files::Kind::kOther:
      return wrong(shown(ledger) + " is not a file; name another");
    case Files::Kind::kMissing:
      break;
  }
  for (auto folder = ledger.parent_path(); folder.has_relative_path();
       folder = folder.parent_path()) {
    const auto kind = desk.files.kind(folder);
    if (kind == Files::Kind::kMissing) continue;
    if (kind != Files::Kind::kFolder) {
      wrong(shown(folder) + " is not a folder, so that no ledger can be made in it; name another");
    }
    return;
  }
}

KnownStones read_known_stones(const Section& section, const Desk& desk) {
  KnownStones stones;
  stones.mark = section.mark();
  stones.source = section.text("source");
  for (size_t identity = 0; identity < stones.counts.size(); ++identity) {
    const std::string_view name = finding_word(identity);
    const Section counts = section.section(name);
    auto& answers = stones.counts[identity];
    for (size_t answer = 0; answer < answers.size(); ++answer) {
      answers[answer] = counts.whole(finding_word(answer));
    }
    const bool none = std::all_of(answers.begin(), answers.end(), [](int64_t n) { return n == 0; });
    if (none && section.is_map(name) && section.sound(name)) {
      desk.problem(
          section, name,
          "all counts are 0; count at least one run, or leave " + std::string(name) + " out");
    }
  }
  return stones;
}

}  // namespace

std::vector<Instrument> read_instruments(const Section& root, const Desk& desk) {
  std::vector<Instrument> out;
  std::map<std::string, int> lines;
  for (const Section& section : root.sections("instruments")) {
    Instrument instrument;
    instrument.serial = section.text("serial");
    instrument.mark = section.mark();
    instrument.bench = section.text("bench");
    instrument.cycle = section.duration("cycle");
    instrument.scope = unary_tests(section.section("scope"), {"color", "carat", "table_mm"});
    instrument.ambient = unary_tests(section.section("ambient"), {"temperature_c", "humidity_pct"});
    if (section.is_map("known_stones")) {
      instrument.known_stones = read_known_stones(section.section("known_stones"), desk);
    }
    const auto [first, fresh] = lines.emplace(instrument.serial, section.mark("serial").line);
    if (!fresh && !instrument.serial.empty()) {
      desk.problem(section, "serial",
                   "the instrument \"" + base::excerpt(instrument.serial) +
                       "\" is here already (line " + std::to_string(first->second) +
                       "); each comes once");
    }
    out.push_back(std::move(instrument));
  }
  return out;
}

namespace {

// One file under two keys would be a policy that follows itself, or is compared with itself.
void read_policy_names(const Section& root, const Desk& desk, TopLevel& top) {
  std::map<std::filesystem::path, std::string> keys;
  for (auto [key, file] : {std::pair("policy", &top.policy),
                           {"next_policy", &top.next_policy},
                           {"shadow_policy", &top.shadow_policy}}) {
    const std::string text = root.text(key);
    if (text.empty()) continue;
    const auto path = desk.path(text);
    const auto [first, fresh] = keys.emplace(desk.files.canonical(path), key);
    if (fresh) {
      *file = {path, root.mark(key)};
      continue;
    }
    desk.problem(root, key,
                 shown(path) + " is named by " + first->second + " already (line " +
                     std::to_string(root.mark(first->second).line) +
                     "); each policy has a file of its own");
  }
}

// 127.0.0.0/8 (RFC 1122 3.2.1.3) and ::1 (RFC 4291 2.5.3).
bool is_loopback(const std::string& host) {
  in_addr four{};
  in6_addr six{};
  if (host == "localhost") return true;
  if (inet_pton(AF_INET, host.c_str(), &four) == 1) return ntohl(four.s_addr) >> 24 == 127;
  return inet_pton(AF_INET6, host.c_str(), &six) == 1 && IN6_IS_ADDR_LOOPBACK(&six);
}

bool is_address(const std::string& host) {
  in6_addr bytes{};
  return inet_pton(AF_INET, host.c_str(), &bytes) == 1 ||
         inet_pton(AF_INET6, host.c_str(), &bytes) == 1;
}

Api read_api(const Section& section, const Desk& desk) {
  Api api;
  const std::string listen = section.text("listen");
  const auto address = parse_host_port(listen);
  if (!address) return api;
  api.host = address->host;
  api.port = address->port;
  api.mark = section.mark("listen");
  api.certificate_file = desk.file(section, "certificate_file");
  api.key = desk.secret(section, "key_file");
  for (const Text& host : section.texts("hosts")) api.hosts.push_back(host.text);
  if (!is_loopback(api.host) && !is_address(api.host)) {
    desk.problem(section, "listen",
                 shown(api.host) + " is a name; an address of this machine is needed, such as "
                 "127.0.0.1, ::1 or 0.0.0.0 for all of them");
  } else if (!is_loopback(api.host) && !section.has("certificate_file")) {
    desk.problem(section, "listen",
                 "others than this machine can reach " + shown(api.host) +
                     ": add certificate_file and key_file, or listen at 127.0.0.1");
  }
  return api;
}

}  // namespace

TopLevel read_settings(const Section& root, const Desk& desk) {
  TopLevel top;
  Settings& settings = top.settings;
  settings.site = root.text("site");
  settings.timezone = root.text("timezone");
  const Section ledger = root.section("ledger");
  settings.keep_attempts = ledger.duration("keep_attempts");
  if (const std::string text = ledger.text("path"); !text.empty()) {
    settings.ledger = desk.path(text);
    check_ledger(ledger, desk, settings.ledger);
  }
  settings.api = read_api(root.section("api"), desk);
  settings.log_level = root.section("log").text("level");
  settings.language = language_tag(root.text("language")).value_or(settings.language);
  settings.market = root.text("market");
  read_policy_names(root, desk, top);
  for (const std::optional<Text>& text : root.text_items("readers")) {
    if (!text) continue;
    settings.reader_folders.push_back(desk.path(text->text));
    desk.needs_folder(text->mark, "readers", settings.reader_folders.back());
  }
  settings.instruments = read_instruments(root, desk);
  settings.intakes = read_intakes(root, desk, top.mappings);
  settings.outlets = read_outlets(root, desk, settings.intakes);
  return top;
}

}  // namespace girdle::config
