// girdled draft.
#include "draft/draft.h"

#include <algorithm>
#include <fstream>
#include <iostream>
#include <iterator>
#include <optional>
#include <ostream>

#include "base/text.h"
#include "cli/commands.h"
#include "cli/listen.h"
#include "config/values.h"
#include "draft/mapping_draft.h"
#include "intake/serial_port.h"
#include "service/check.h"

namespace girdle::cli {
namespace {

namespace fs = std::filesystem;
using base::call_error;
using base::input_error;
using base::Result;

// Some hundred records are plenty; a sample is held whole, and read some forty times over where its
// encoding is not certain.
constexpr size_t kMostBytes = 8 << 20;

Result<draft::Sample> read_sample(const fs::path& path) {
  std::ifstream file;
  if (path != "-") file.open(path, std::ios::binary);
  if (path != "-" && (!file || fs::is_directory(path))) {
    return input_error("the sample " + path.string() + " cannot be read");
  }
  std::istream& from = path == "-" ? std::cin : file;
  draft::Sample sample{path == "-" ? "standard-input" : path.string(), {}};
  std::string piece(256 << 10, '\0');
  while (from && sample.bytes.size() <= kMostBytes) {
    from.read(piece.data(), static_cast<std::streamsize>(piece.size()));
    sample.bytes.append(piece, 0, static_cast<size_t>(from.gcount()));
  }
  if (sample.bytes.size() > kMostBytes) {
    return input_error("the sample " + path.string() +
                       " has more than 8 MiB; one with some hundred records will do");
  }
  return sample;
}

Result<draft::Samples> read_samples(const std::vector<fs::path>& paths) {
  draft::Samples samples;
  size_t bytes = 0;
  for (const fs::path& path : paths) {
    auto sample = read_sample(path);
    if (!sample) return sample.error();
    bytes += sample->bytes.size();
    samples.push_back(std::move(sample).value());
  }
  if (bytes == 0) return input_error("the samples hold nothing");
  if (bytes > kMostBytes) {
    return input_error("the samples have more than 8 MiB together; some hundred records will do");
  }
  return samples;
}

std::optional<model::RecordKind> kind_named(std::string_view word) {
  const auto at = std::ranges::find(model::kRecordKindNames, word);
  if (at == std::end(model::kRecordKindNames)) return std::nullopt;
  return static_cast<model::RecordKind>(at - std::begin(model::kRecordKindNames));
}

Result<void> must_be_new(const fs::path& path) {
  std::error_code failed;
  if (!fs::exists(path, failed)) return {};
  return input_error(path.string() +
                     " is there already, and draft writes over nothing; give another folder to " +
                     "--out, and take from it what you need");
}

Result<void> write_file(const fs::path& path, const std::string& bytes) {
  std::ofstream file(path, std::ios::binary);
  file << bytes;
  file.close();
  if (!file) return base::environment_error(path.string() + " cannot be written");
  return {};
}

// The two files, and of a line the messages that came, as preview takes them. Writes nothing where
// one of these is there.
Result<void> write_to(const fs::path& folder, const draft::Draft& made) {
  std::vector<std::pair<fs::path, const std::string*>> files = {
      {folder / "girdled.yaml", &made.configuration},
      {folder / (made.name + ".mapping.yaml"), &made.mapping}};
  const fs::path messages = folder / (made.name + ".messages");
  for (const draft::Sample& one : made.frames) files.emplace_back(messages / one.name, &one.bytes);
  for (const auto& [path, bytes] : files) {
    if (auto is_new = must_be_new(path); !is_new) return is_new;
  }
  std::error_code failed;
  fs::create_directories(made.frames.empty() ? folder : messages, failed);
  if (failed) return base::environment_error(folder.string() + ": " + failed.message());
  for (const auto& [path, bytes] : files) {
    if (auto done = write_file(path, *bytes); !done) return done;
  }
  return {};
}

void print_remarks(Screen& screen, const draft::Draft& made, const DraftOptions& options) {
  for (const std::string& remark : made.remarks) screen.err << remark << '\n';
  const std::string open = std::to_string(made.open_points) +
                           (made.open_points == 1 ? " place" : " places") + " to fill in";
  if (options.out.empty()) {
    screen.err << open << " (FILL_IN); with --out FOLDER it is written to files\n";
    return;
  }
  const std::string config = (options.out / "girdled.yaml").string();
  screen.err << "written: " << config << " and "
             << (options.out / (made.name + ".mapping.yaml")).string() << '\n'
             << open << ": girdled check --config " << config << " names each\n";
  if (made.records == 0) return;  // nothing to preview
  screen.err << "then: girdled preview --config " << config << " --intake " << made.name << ' '
             << (made.frames.empty() ? options.samples.front().string()
                                     : (options.out / (made.name + ".messages") / "*").string())
             << '\n';
}

Result<draft::Draft> draft_of_samples(const reading::Catalogue& catalogue,
                                      const DraftOptions& options, const draft::Answers& answers) {
  auto samples = read_samples(options.samples);
  if (!samples) return samples.error();
  return draft::make_draft(catalogue, std::move(samples).value(), answers);
}

draft::Source source_of(const config::SerialIntake& line) {
  draft::Source source;
  source.kind = draft::Source::Kind::kSerial;
  source.settings = {draft::settled("device", line.device),
                     draft::settled("baud", std::to_string(line.baud))};
  if (line.data_bits != 8) source.settings.push_back(draft::settled("data_bits", "7"));
  if (line.parity != config::SerialIntake::Parity::kNone) {
    const bool even = line.parity == config::SerialIntake::Parity::kEven;
    source.settings.push_back(draft::settled("parity", even ? "even" : "odd"));
  }
  if (line.stop_bits != 1) source.settings.push_back(draft::settled("stop_bits", "2"));
  return source;
}

config::SerialIntake serial_line_of(const DraftOptions& options) {
  using Parity = config::SerialIntake::Parity;
  config::SerialIntake line;
  line.device = options.serial;
  line.baud = options.baud;
  line.data_bits = options.data_bits;
  line.stop_bits = options.stop_bits;
  if (options.parity == "even") line.parity = Parity::kEven;
  if (options.parity == "odd") line.parity = Parity::kOdd;
  return line;
}

void say_that_it_listens(Screen& screen, const DraftOptions& options) {
  screen.err << "listening on " << (options.serial.empty() ? options.tcp : options.serial)
             << " for " << options.seconds
             << " s; make some measurements meanwhile (Ctrl-C ends it sooner)\n";
  screen.err.flush();
}

Result<std::pair<Heard, draft::Source>> listen(Screen& screen, const DraftOptions& options) {
  const Listening listening{std::chrono::seconds(options.seconds)};
  if (!options.serial.empty()) {
    const config::SerialIntake line = serial_line_of(options);
    if (std::string wrong = intake::wrong_serial_settings(line); !wrong.empty()) {
      return call_error(std::move(wrong));
    }
    say_that_it_listens(screen, options);
    auto heard = listen_on(line, listening);
    if (!heard) return heard.error();
    return std::pair(std::move(heard).value(), source_of(line));
  }
  const auto address = config::parse_host_port(options.tcp);
  if (!address) return call_error("--tcp: it must be host:port with a port from 1 to 65535");
  say_that_it_listens(screen, options);
  auto heard = listen_on(config::TcpIntake{address->host, address->port, {}}, listening);
  if (!heard) return heard.error();
  draft::Source source;
  source.kind = draft::Source::Kind::kTcp;
  source.settings = {draft::settled("connect", options.tcp)};
  return std::pair(std::move(heard).value(), std::move(source));
}

Result<draft::Draft> draft_of_line(Screen& screen, const reading::Catalogue& catalogue,
                                   const DraftOptions& options, const draft::Answers& answers) {
  auto heard = listen(screen, options);
  if (!heard) return heard.error();
  auto& [bytes, source] = *heard;
  if (bytes.bytes.empty()) {
    return input_error("nothing came over the line; is the instrument on, and did it measure?");
  }
  if (bytes.damaged > 0) {
    screen.err << bytes.damaged << " of " << bytes.bytes.size()
               << " bytes came damaged: baud, data bits or parity may be others\n";
  }
  return draft::make_draft(catalogue, {{"line", std::move(bytes.bytes)}}, answers,
                           std::move(source));
}

Result<draft::Answers> answers_of(const DraftOptions& options,
                                  const reading::Catalogue& catalogue) {
  draft::Answers answers;
  answers.name = options.name;
  answers.reader = options.reader;
  for (const std::string& one : options.options) {
    const size_t equals = one.find('=');
    if (equals == std::string::npos || equals == 0) {
      return call_error("--option " + base::excerpt(one) + ": it is NAME=VALUE");
    }
    answers.options.emplace_back(one.substr(0, equals), one.substr(equals + 1));
  }
  if (!options.name.empty() && !config::is_name(options.name)) {
    return call_error("--name: it must be a name of letters, digits, \".\", \"_\" and \"-\"");
  }
  if (!options.record.empty()) answers.record = kind_named(options.record);
  if (!options.reader.empty() && catalogue.find(options.reader) == nullptr) {
    const auto names = catalogue.names();
    return call_error("there is no reader \"" + base::excerpt(options.reader) + "\"; there is " +
                      base::listed(names));
  }
  if (const auto* manifest = catalogue.find(options.reader); manifest != nullptr) {
    answers.isolation = service::isolation_of(config::Intake::Isolate::kForeign, *manifest);
    if (answers.isolation) answers.reader_folder = fs::absolute(manifest->library.parent_path());
  }
  return answers;
}

}  // namespace

int draft(Screen& screen, const DraftOptions& options) {
  std::vector<fs::path> folders = service::own_reader_folders();
  folders.insert(folders.end(), options.readers.begin(), options.readers.end());
  std::vector<std::string> problems;
  const auto catalogue = reading::Catalogue::scan(folders, &problems);
  for (const std::string& problem : problems) screen.err << problem << '\n';
  auto answers = answers_of(options, catalogue);
  if (!answers) return fail(screen, answers.error());
  const bool listens = !options.serial.empty() || !options.tcp.empty();
  if (listens == !options.samples.empty()) {
    return fail(screen,
                call_error("draft takes samples, or one of --serial and --tcp to listen on"));
  }
  auto made = listens ? draft_of_line(screen, catalogue, options, *answers)
                      : draft_of_samples(catalogue, options, *answers);
  if (!made) return fail(screen, made.error());
  if (options.out.empty()) {
    screen.out << "# girdled.yaml\n"
               << made->configuration << "---\n# " << made->name << ".mapping.yaml\n"
               << made->mapping;
  } else if (auto written = write_to(options.out, *made); !written) {
    return fail(screen, written.error());
  }
  print_remarks(screen, *made, options);
  return made->is_clean ? 0 : 1;
}

}  // namespace girdle::cli
