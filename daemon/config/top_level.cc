// girdled.yaml.
#include <charconv>
#include <set>

#include "base/text.h"
#include "base/time.h"
#include "config/keys.h"
#include "config/load.h"

namespace girdle::config {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

constexpr int64_t kBauds[] = {300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600};
constexpr uint64_t kMaxRecord = 64ull << 20;

const std::vector<Millis>& default_retry() {
  static const std::vector<Millis> kRetry = {seconds(5), minutes(5), minutes(30), hours(2),  hours(5),
                                             hours(10),  hours(14),  hours(20),   hours(24)};
  return kRetry;
}

class TopReader {
 public:
  TopReader(const std::filesystem::path& file, Problems& problems)
      : folder_(file.parent_path()), file_(file.string()), problems_(problems) {
    top_.settings.file = file;
  }

  TopLevel read(const YAML::Node& root);

 private:
  Section section(const YAML::Node& node, std::string_view what, std::span<const Key> keys) {
    return {node, what, keys, file_, problems_};
  }
  std::filesystem::path path(const std::string& text) const { return (folder_ / text).lexically_normal(); }

  template <class Each>
  void each(Section& section, std::string_view key, Each one);
  void instrument(const YAML::Node& node);
  void limits(Section& section, std::string_view key, std::span<const Key> keys, std::map<std::string, Text>& out);
  void intake(const YAML::Node& node);
  void folder(const YAML::Node& node, Intake& intake);
  void serial(const YAML::Node& node, Intake& intake);
  void tcp(const YAML::Node& node, Intake& intake);
  Framing framing(Section& section);
  void block(Section& frame, Framing& framing);
  std::string hex_byte(Section& section, std::string_view key, std::string fallback);
  void outlet(const YAML::Node& node);
  void webhook(const YAML::Node& node, Outlet& outlet);
  bool name_once(std::set<std::string>& names, const std::string& name, const Mark& mark, std::string_view what);

  std::filesystem::path folder_;
  std::string file_;
  Problems& problems_;
  TopLevel top_;
  std::set<std::string> serials_, intakes_, outlets_;
};

template <class Each>
void TopReader::each(Section& section, std::string_view key, Each one) {
  const YAML::Node list = section.at(key);
  if (!list.IsDefined() || list.IsNull()) return;
  if (!list.IsSequence()) {
    section.problem_at(key, "it must be a list, each item after a dash");
    return;
  }
  for (const auto& item : list) one(item);
}

bool TopReader::name_once(std::set<std::string>& names, const std::string& name, const Mark& mark, std::string_view what) {
  if (name.empty()) {
    problems_.push_back({file_, mark, std::string(what) + " has an empty name"});
    return false;
  }
  if (names.insert(name).second) return true;
  problems_.push_back({file_, mark, std::string(what) + " \"" + name + "\" is there already; each name comes once"});
  return false;
}

TopLevel TopReader::read(const YAML::Node& root) {
  Section s = section(root, "the configuration", keys::kTop);
  Settings& settings = top_.settings;
  settings.site = s.text("site").value_or("");
  if (s.has("site") && settings.site.empty()) s.problem_at("site", "it must not be empty");
  if (const auto zone = s.text("timezone")) {
    settings.timezone = *zone;
    if (auto found = base::Zone::find(*zone); !found) s.problem_at("timezone", found.error().text);
  }
  if (s.has("ledger")) {
    Section ledger = section(s.at("ledger"), "ledger", keys::kLedger);
    if (const auto text = ledger.text("path")) settings.ledger = path(*text);
  }
  if (s.has("api")) {
    Section api = section(s.at("api"), "api", keys::kApi);
    (void)api.text("listen");
  }
  if (const auto policy = s.text("policy")) top_.policy = NamedFile{path(*policy), s.mark("policy")};
  if (s.has("log")) {
    Section log = section(s.at("log"), "log", keys::kLog);
    if (log.choice("level", {"error", "warning", "info", "debug"})) settings.log_level = *log.text("level");
  }
  each(s, "readers", [&](const YAML::Node& node) {
    if (node.IsScalar()) {
      settings.reader_folders.push_back(path(node.Scalar()));
    } else {
      s.problem(mark_of(node), "readers: each item is the path of a folder");
    }
  });
  each(s, "instruments", [&](const YAML::Node& node) { instrument(node); });
  each(s, "intakes", [&](const YAML::Node& node) { intake(node); });
  each(s, "outlets", [&](const YAML::Node& node) { outlet(node); });
  return std::move(top_);
}

void TopReader::limits(Section& s, std::string_view key, std::span<const Key> keys, std::map<std::string, Text>& out) {
  if (!s.has(key)) return;
  Section limits = section(s.at(key), key, keys);
  for (const Key& fact : keys) {
    if (auto text = limits.located(fact.name)) out.emplace(fact.name, std::move(*text));
  }
}

void TopReader::instrument(const YAML::Node& node) {
  Section s = section(node, "an instrument", keys::kInstrument);
  if (!s.sound()) return;
  Instrument instrument;
  instrument.mark = s.mark();
  instrument.serial = s.text("serial").value_or("");
  if (s.has("serial")) name_once(serials_, instrument.serial, s.mark("serial"), "the instrument");
  instrument.bench = s.text("bench").value_or("");
  instrument.cycle = s.duration("cycle").value_or(Millis(0));
  limits(s, "scope", keys::kScope, instrument.scope);
  limits(s, "ambient", keys::kAmbient, instrument.ambient);
  top_.settings.instruments.push_back(std::move(instrument));
}

void TopReader::intake(const YAML::Node& node) {
  Section s = section(node, "an intake", keys::kIntake);
  Intake intake;
  intake.mark = s.mark();
  if (!s.sound()) return;
  intake.name = s.text("name").value_or("");
  if (s.has("name")) name_once(intakes_, intake.name, s.mark("name"), "the intake");
  const int sources = s.has("folder") + s.has("serial") + s.has("tcp");
  if (sources != 1) {
    s.problem(s.mark(), "the intake \"" + intake.name + "\" needs exactly one of folder, serial and tcp; it has " +
                            std::to_string(sources));
  }
  if (s.has("folder")) folder(s.at("folder"), intake);
  if (s.has("serial")) serial(s.at("serial"), intake);
  if (s.has("tcp")) tcp(s.at("tcp"), intake);
  intake.reader = s.text("reader").value_or("");
  intake.reader_mark = s.mark("reader");
  const YAML::Node options = s.at("options");
  if (options.IsDefined() && !options.IsMap()) {
    s.problem_at("options", "it must be a map of the reader's options");
  } else if (options.IsDefined()) {
    for (const auto& option : options) {
      if (option.first.IsScalar() && option.second.IsScalar()) {
        intake.options.emplace_back(option.first.Scalar(), Text{option.second.Scalar(), mark_of(option.second)});
      } else {
        s.problem(mark_of(option.first), "options: each is a name and one text");
      }
    }
  }
  if (const auto size = s.size("max_record")) {
    intake.max_record_bytes = std::min(*size, kMaxRecord);
    if (*size > kMaxRecord) s.problem_at("max_record", "a record has at most 64MiB");
  }
  const auto mapping = s.text("mapping");
  top_.mappings.push_back(mapping ? NamedFile{path(*mapping), s.mark("mapping")} : NamedFile{});
  top_.settings.intakes.push_back(std::move(intake));
}

void TopReader::folder(const YAML::Node& node, Intake& intake) {
  Section s = section(node, "folder", keys::kFolder);
  FolderIntake folder;
  if (const auto text = s.text("path")) folder.path = path(*text);
  folder.match = s.text("match").value_or(folder.match);
  folder.growing = s.choice("content", {"whole", "growing"}).value_or(0) == 1;
  folder.settle = s.duration("settle").value_or(folder.settle);
  folder.scan_every = s.duration("scan_every").value_or(folder.scan_every);
  if (folder.scan_every < seconds(1)) s.problem_at("scan_every", "it must be 1s or more");
  folder.move_done = s.choice("done", {"stay", "move"}).value_or(0) == 1;
  if (folder.move_done && folder.growing) s.problem_at("done", "a growing file stays where it is: move needs  content: whole");
  folder.max_bytes = s.size("max_size").value_or(folder.max_bytes);
  intake.source = std::move(folder);
}

void TopReader::serial(const YAML::Node& node, Intake& intake) {
  Section s = section(node, "serial", keys::kSerial);
  SerialIntake serial;
  if (const auto device = s.text("device")) serial.device = device->empty() ? *device : path(*device).string();
  if (s.has("device") && serial.device.empty()) s.problem_at("device", "it must not be empty");
  if (const auto baud = s.integer("baud", 1, 4'000'000)) {
    serial.baud = static_cast<uint32_t>(*baud);
    if (std::find(std::begin(kBauds), std::end(kBauds), *baud) == std::end(kBauds)) {
      s.problem_at("baud", "serial lines have 300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, "
                           "460800 or 921600, not " + std::to_string(*baud));
    }
  }
  serial.data_bits = static_cast<int>(s.integer("data_bits", 7, 8).value_or(8));
  serial.parity = static_cast<SerialIntake::Parity>(s.choice("parity", {"none", "even", "odd"}).value_or(0));
  serial.stop_bits = static_cast<int>(s.integer("stop_bits", 1, 2).value_or(1));
  serial.framing = framing(s);
  intake.source = std::move(serial);
}

void TopReader::tcp(const YAML::Node& node, Intake& intake) {
  Section s = section(node, "tcp", keys::kTcp);
  TcpIntake tcp;
  if (const auto connect = s.text("connect")) {
    const size_t colon = connect->rfind(':');
    int port = 0;
    if (colon != std::string::npos) std::from_chars(connect->data() + colon + 1, connect->data() + connect->size(), port);
    if (colon == std::string::npos || colon == 0 || port < 1 || port > 65535) {
      s.problem_at("connect", "it must be host:port with a port from 1 to 65535, not \"" + base::excerpt(*connect) + "\"");
    } else {
      tcp.host = connect->substr(0, colon);
      if (tcp.host.starts_with('[') && tcp.host.ends_with(']')) tcp.host = tcp.host.substr(1, tcp.host.size() - 2);
      tcp.port = static_cast<uint16_t>(port);
    }
  }
  tcp.framing = framing(s);
  intake.source = std::move(tcp);
}

Framing TopReader::framing(Section& s) {
  Framing framing;
  if (!s.has("frame")) return framing;
  if (s.at("frame").IsScalar()) {
    framing.kind = static_cast<Framing::Kind>(s.choice("frame", {"line", "block"}).value_or(0));
    return framing;
  }
  Section frame = section(s.at("frame"), "frame", keys::kFrame);
  framing.kind = static_cast<Framing::Kind>(frame.choice("kind", {"line", "block"}).value_or(0));
  framing.max_bytes = frame.size("max").value_or(framing.max_bytes);
  if (framing.max_bytes > (16u << 20)) frame.problem_at("max", "a frame has at most 16MiB");
  if (framing.kind == Framing::Kind::kBlock) {
    block(frame, framing);
  } else {
    for (const char* key : {"start", "end", "check", "check_as", "order", "range"}) {
      if (frame.has(key)) frame.problem_at(key, "only a block has it; lines end at CR, LF or CRLF");
    }
  }
  return framing;
}

void TopReader::block(Section& frame, Framing& framing) {
  framing.start = hex_byte(frame, "start", framing.start);
  framing.end = hex_byte(frame, "end", framing.end);
  framing.check = frame.text("check").value_or("");
  framing.check_hex = frame.choice("check_as", {"bytes", "hex"}).value_or(0) == 1;
  framing.check_low_byte_first = frame.choice("order", {"high_first", "low_first"}).value_or(0) == 1;
  if (!frame.has("range")) return;
  Section range = section(frame.at("range"), "range", keys::kRange);
  framing.check_with_start = range.choice("start", {"excluded", "included"}).value_or(0) == 1;
  framing.check_with_end = range.choice("end", {"excluded", "included"}).value_or(1) == 1;
}

std::string TopReader::hex_byte(Section& s, std::string_view key, std::string fallback) {
  const auto text = s.text(key);
  if (!text) return fallback;
  int byte = 0;
  const char* const end = text->data() + text->size();
  const auto [at, error] = std::from_chars(text->data(), end, byte, 16);
  if (error == std::errc() && at == end && text->size() == 2) return std::string(1, static_cast<char>(byte));
  s.problem_at(key, "it must be one byte as two hexadecimal digits, such as \"02\", not \"" + base::excerpt(*text) + "\"");
  return fallback;
}

void TopReader::outlet(const YAML::Node& node) {
  Section s = section(node, "an outlet", keys::kOutlet);
  if (!s.sound()) return;
  Outlet outlet;
  outlet.mark = s.mark();
  outlet.name = s.text("name").value_or("");
  if (s.has("name")) name_once(outlets_, outlet.name, s.mark("name"), "the outlet");
  if (s.has("webhook")) webhook(s.at("webhook"), outlet);
  outlet.retry = default_retry();
  if (s.has("retry")) {
    outlet.retry.clear();
    each(s, "retry", [&](const YAML::Node& wait) {
      const auto duration = wait.IsScalar() ? base::parse_duration(wait.Scalar()) : std::nullopt;
      if (duration) {
        outlet.retry.push_back(*duration);
      } else {
        s.problem(mark_of(wait), "retry: each item is a duration such as 5s, 30min or 2h");
      }
    });
    if (outlet.retry.size() > 100) s.problem_at("retry", "at most 100 attempts");
  }
  outlet.in_flight = static_cast<int>(s.integer("in_flight", 1, 64).value_or(outlet.in_flight));
  top_.settings.outlets.push_back(std::move(outlet));
}

void TopReader::webhook(const YAML::Node& node, Outlet& outlet) {
  Section s = section(node, "webhook", keys::kWebhook);
  Webhook& webhook = outlet.webhook;
  webhook.url = s.text("url").value_or("");
  webhook.mark = s.mark("url");
  if (const auto text = s.text("secret_file")) {
    webhook.secret_file = path(*text);
    webhook.secret_mark = s.mark("secret_file");
  }
  webhook.insecure = s.boolean("insecure").value_or(false);
  if (const auto text = s.text("ca_file")) {
    webhook.ca_file = path(*text);
    std::error_code failed;
    if (!std::filesystem::is_regular_file(webhook.ca_file, failed)) {
      s.problem_at("ca_file", "the file " + webhook.ca_file.string() + " does not exist");
    }
  }
  webhook.timeout = s.duration("timeout").value_or(webhook.timeout);
  if (webhook.timeout < Millis(100) || webhook.timeout > minutes(5)) s.problem_at("timeout", "it must lie from 100ms to 5min");
}

}  // namespace

TopLevel parse_top(const std::string& text, const std::filesystem::path& file, Problems& problems) {
  const auto root = load_yaml(text, file.string(), problems);
  if (!root) {
    TopLevel nothing;
    nothing.settings.file = file;
    return nothing;
  }
  return TopReader(file, problems).read(*root);
}

}  // namespace girdle::config
