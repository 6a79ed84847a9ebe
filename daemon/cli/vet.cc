// girdled vet.
#include "vet/vet.h"

#include <algorithm>
#include <ostream>

#include "base/text.h"
#include "base/time.h"
#include "cli/commands.h"
#include "cli/vet_view.h"
#include "reading/manifest.h"
#include "service/check.h"

namespace girdle::cli {
namespace {

namespace fs = std::filesystem;
using base::call_error;
using base::Result;
using base::counted;

Result<fs::path> only_manifest_in(const fs::path& folder) {
  std::vector<fs::path> manifests;
  std::error_code failed;
  for (fs::directory_iterator at(folder, failed), end; !failed && at != end; at.increment(failed)) {
    if (at->path().string().ends_with(".reader.yaml")) manifests.push_back(at->path());
  }
  if (manifests.size() == 1) return manifests.front();
  return call_error(folder.string() + " has " + counted(manifests.size(), "manifest") +
                    " of readers; name the one to vet");
}

// By its name, among the manifests of our own folders and of those that were given.
Result<fs::path> manifest_named(const std::string& name, const std::vector<std::string>& given) {
  std::vector<fs::path> folders(given.begin(), given.end());
  for (fs::path& own : service::own_reader_folders()) folders.push_back(std::move(own));
  for (const fs::path& folder : folders) {
    std::error_code failed;
    if (fs::exists(folder / (name + ".reader.yaml"), failed))
      return folder / (name + ".reader.yaml");
  }
  const auto catalogue = reading::Catalogue::scan(folders, nullptr);
  const auto names = catalogue.names();
  const std::string_view near = base::nearest(name, names);
  std::string text = "there is no reader \"" + base::excerpt(name) + '"';
  if (!near.empty()) return call_error(text + "; did you mean " + std::string(near) + '?');
  text += names.empty() ? ", and no other" : "; there is " + base::listed(names);
  return call_error(text + "; a manifest may be named by its path");
}

Result<fs::path> find_manifest(const VetOptions& options) {
  const fs::path path = options.reader;
  std::error_code failed;
  if (fs::is_directory(path, failed)) return only_manifest_in(path);
  const bool is_path = path.has_parent_path() || path.extension() == ".yaml";
  if (!is_path) return manifest_named(options.reader, options.folders);
  if (fs::exists(path, failed)) return path;
  return call_error("there is no manifest " + path.string());
}

Result<reading::Options> options_of(const std::vector<std::string>& given) {
  reading::Options options;
  for (const std::string& one : given) {
    const size_t equals = one.find('=');
    if (equals == std::string::npos || equals == 0)
      return call_error("--option " + base::excerpt(one) + ": it is NAME=VALUE");
    options.emplace_back(one.substr(0, equals), one.substr(equals + 1));
  }
  return options;
}

// What goes wrong is told in any case: the rest may follow from it.
bool is_shown(const VetOptions& options, const vet::Check& check) {
  return options.only.empty() || !check.faults.empty() ||
         std::find(options.only.begin(), options.only.end(), check.name) != options.only.end();
}

Result<vet::Effort> effort_of(const VetOptions& options) {
  const auto time = base::parse_duration(options.time);
  if (!time || time->count() <= 0)
    return call_error("--time " + options.time + ": it is a duration such as 5s");
  if (std::error_code failed; !options.keep.empty() && !fs::is_directory(options.keep, failed))
    return call_error("--keep " + options.keep.string() + " is no folder");
  const auto known = vet::check_names();
  for (const std::string& name : options.only) {
    if (std::find(known.begin(), known.end(), name) == known.end())
      return call_error("there is no check \"" + base::excerpt(name) + "\"; there is " +
                        base::listed(known));
  }
  return vet::Effort{.time = *time, .only = options.only, .keep = options.keep};
}

void print_json(Screen& screen, vet::Report report) {
  report.program = GIRDLE_VERSION;
  std::string out;
  vet::write_json(out, report);
  screen.out << out << '\n';
}

}  // namespace

int vet(Screen& screen, const VetOptions& options) {
  auto manifest = find_manifest(options);
  if (!manifest) return fail(screen, manifest.error());
  auto reader_options = options_of(options.options);
  if (!reader_options) return fail(screen, reader_options.error());
  const auto effort = effort_of(options);
  if (!effort) return fail(screen, effort.error());

  const vet::Candidate candidate{*manifest, options.samples, std::move(*reader_options)};
  VetView view(screen);
  screen.out.flush();  // or the processes of the checks would have it to write as well
  const auto report = vet::vet(candidate, *effort, [&](const vet::Check& check) {
    if (!options.json && is_shown(options, check)) view.print(check);
  });
  if (!report) return fail(screen, report.error());
  if (options.json) {
    print_json(screen, *report);
  } else {
    view.print_verdict(*report);
  }
  return report->faults() == 0 ? 0 : 1;
}

}  // namespace girdle::cli
