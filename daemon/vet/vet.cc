#include "vet/vet.h"

#include <algorithm>
#include <fstream>
#include <set>
#include <span>

#include "base/text.h"
#include "vet/apart.h"
#include "vet/checks.h"
#include "vet/gathering.h"
#include "vet/mutation.h"
#include "vet/sample.h"

namespace girdle::vet {
namespace {

using base::Result;
using std::chrono::milliseconds;
using SteadyClock = std::chrono::steady_clock;

// How much must have gone well before a check makes sense.
enum class Needs { kFile, kFunctions, kDescriptor };

struct Plan {
  const char* name;
  const char* promise;
  void (*run)(const Bench&);
  Needs needs;
  size_t samples;  // at most so many; 0: it needs none
};

constexpr size_t kAll = SIZE_MAX;
constexpr milliseconds kLeast{20};  // for one sample

constexpr Plan kPlans[] = {
    {"library", "can be loaded, exports its two functions and nothing else", check_library,
     Needs::kFile, 0},
    {"negotiation", "takes this version of the ABI, and none that it was not offered",
     check_negotiation, Needs::kFunctions, 0},
    {"descriptor", "says what the manifest says, and has all its functions", check_descriptor,
     Needs::kFunctions, 0},
    {"options", "takes what it may be given, and refuses what it must", check_options,
     Needs::kDescriptor, 0},
    {"records", "keeps to the contract on every sample read at once", check_records,
     Needs::kDescriptor, kAll},
    {"values", "refuses odd values of its options, or reads on with them", check_values,
     Needs::kDescriptor, 3},
    {"cuts", "gives the same however the bytes are cut into feeds", check_cuts, Needs::kDescriptor,
     kAll},
    {"resume", "saved and resumed anywhere, goes on where it was", check_resume, Needs::kDescriptor,
     kAll},
    {"repeat", "gives the same twice, beside others and on other threads", check_repeat,
     Needs::kDescriptor, kAll},
    {"stop", "stops when the host says so", check_stop, Needs::kDescriptor, kAll},
    {"limits", "keeps to max_record_bytes and max_fields", check_limits, Needs::kDescriptor, kAll},
    {"bounds", "holds little, whatever comes without end", check_bounds, Needs::kDescriptor, 24},
    {"states", "refuses or survives a damaged state", check_states, Needs::kDescriptor, kAll},
    {"mutations", "survives changed samples, and keeps to the contract on them", check_mutations,
     Needs::kDescriptor, kAll},
    {"outside", "touches nothing but memory", check_outside, Needs::kDescriptor, kAll},
    {"leaks", "gives back all that it took", check_leaks, Needs::kDescriptor, 24},
    {"cost", "takes time by the byte", check_cost, Needs::kDescriptor, 6},
};

// Faults with which a library can be called all the same.
constexpr std::string_view kHarmlessOfLibraries[] = {"library.exports", "output"};
constexpr std::string_view kHarmlessOfDescriptors[] = {"descriptor.version", "descriptor.extension",
                                                       "descriptor.reserved", "output"};

bool has_none_but(std::span<const std::string_view> rules, const Check& check) {
  return std::all_of(check.faults.begin(), check.faults.end(), [&](const Fault& fault) {
    return std::find(rules.begin(), rules.end(), fault.rule) != rules.end();
  });
}

Check begun(const char* name, const char* promise) {
  Check check;
  check.name = name;
  check.promise = promise;
  return check;
}

class Vetting {
 public:
  Vetting(const reading::Manifest& manifest, const reading::Options& options,
          std::vector<Sample> samples, const Effort& effort)
      : manifest_(manifest),
        options_(reading::with_defaults(manifest, options)),
        samples_(std::move(samples)),
        effort_(effort) {}

  // One check after the other. An error is the system's.
  Result<void> run(Report& report, const std::function<void(const Check&)>& told) {
    for (const Plan& plan : kPlans) {
      Check check = begun(plan.name, plan.promise);
      const auto begin = SteadyClock::now();
      check.why_left_out = why_not(plan);
      if (check.why_left_out.empty()) {
        if (auto done = run(plan, check); !done) return done;
      }
      check.milliseconds =
          std::chrono::duration_cast<milliseconds>(SteadyClock::now() - begin).count();
      conclude(check);
      report.checks.push_back(check);
      told(check);
    }
    return {};
  }

 private:
  std::string why_not(const Plan& plan) const {
    if (plan.needs == Needs::kFunctions && !has_functions_)
      return "the library cannot be loaded, or lacks its two functions";
    if (plan.needs == Needs::kDescriptor && !has_descriptor_)
      return "there is no whole descriptor " + manifest_.name;
    const bool asked = effort_.only.empty() || std::find(effort_.only.begin(), effort_.only.end(),
                                                         plan.name) != effort_.only.end();
    if (!asked && plan.needs == Needs::kDescriptor) return "not asked for";
    if (plan.samples > 0 && bad_samples_.size() == samples_.size())
      return "no sample can be read to its end";
    return {};
  }

  Result<void> run(const Plan& plan, Check& check) {
    Gathering gathering(check, known_);
    if (plan.samples == 0) {
      auto how = run_one(plan, 0, effort_.time, gathering, check);
      return how ? Result<void>() : how.error();
    }
    const auto end = SteadyClock::now() + effort_.time;
    const std::vector<size_t> chosen = samples_for(plan);
    check.samples = chosen.size();
    for (size_t i = 0; i < chosen.size(); ++i) {
      const auto rest = std::chrono::duration_cast<milliseconds>(end - SteadyClock::now());
      if (rest < kLeast && check.name != "records" && i > 0) break;
      ++check.samples_tried;
      const auto share = std::max(rest * 9 / 10 / static_cast<int64_t>(chosen.size() - i), kLeast);
      auto how = run_one(plan, chosen[i], share, gathering, check);
      if (!how) return how.error();
      if (*how == Ending::How::kHung) break;  // the others would hang as well, for as long
    }
    return {};
  }

  // Of those that can be read: all, or some from everywhere.
  std::vector<size_t> samples_for(const Plan& plan) const {
    std::vector<size_t> good;
    for (size_t i = 0; i < samples_.size(); ++i)
      if (!bad_samples_.contains(i)) good.push_back(i);
    const size_t most = std::min(plan.samples, good.size());
    std::vector<size_t> chosen;
    for (size_t i = 0; i < most; ++i) chosen.push_back(good[i * good.size() / most]);
    return chosen;
  }

  // Of one sample: how its process ended.
  Result<Ending::How> run_one(const Plan& plan, size_t index, milliseconds time,
                              Gathering& gathering, Check& check) {
    const Bounds bounds{.time = time, .call = effort_.call};
    const auto body = [&](Trial& trial) {
      trial.at(plan.samples > 0 ? samples_[index].name : manifest_.library.filename().string());
      const Loaded loaded = plan.needs == Needs::kFile ? Loaded() : load(trial, manifest_);
      plan.run({trial, manifest_, loaded, options_, samples_, index});
    };
    std::vector<Message> messages;
    auto ending = run_apart(bounds, body, messages);
    if (!ending) return ending.error();
    for (const Message& message : messages) gathering.take(message);
    look_at(*ending, gathering);
    const bool read = std::any_of(messages.begin(), messages.end(), [](const Message& message) {
      return message.kind == Tell::kMeasure;  // told at the end
    });
    if (check.name == "records" && !read) bad_samples_.insert(index);
    keep_inputs(index, gathering.take_changes(), check);
    return ending->how;
  }

  static void look_at(const Ending& ending, Gathering& gathering) {
    if (ending.how != Ending::How::kDone) {
      const EndingWords words = words_of(ending);
      gathering.fault(words.rule, ending.where, words.what, words.right,
                      static_cast<int64_t>(ending.change));
    } else if (!ending.output.empty()) {
      gathering.fault("output", ending.where,
                      "writes to a stream: " + base::excerpt(base::trimmed(ending.output), 200),
                      "a reader writes to no stream; its host logs", 0);
    }
  }

  void keep_inputs(size_t index, const std::vector<std::pair<size_t, int64_t>>& changes,
                   Check& check) {
    if (effort_.keep.empty()) return;
    for (const auto& [fault, number] : changes) {
      std::string name = samples_[index].name + ".change-" + std::to_string(number);
      std::replace(name.begin(), name.end(), '/', '-');
      const std::filesystem::path file = effort_.keep / name;
      std::ofstream(file, std::ios::binary)
          << changed(samples_, index, static_cast<uint64_t>(number));
      check.faults[fault].input = file.string();
    }
  }

  void conclude(Check& check) {
    const bool made = check.why_left_out.empty();
    if (check.name == "library") has_functions_ = has_none_but(kHarmlessOfLibraries, check);
    if (check.name == "descriptor" && made)
      has_descriptor_ = has_none_but(kHarmlessOfDescriptors, check);
    const bool any_read = bad_samples_.size() < samples_.size();
    if (check.name == "records" && made && any_read && check.faults.empty() &&
        check.measured("records") == 0) {
      check.faults.push_back({"samples.empty",
                              "all samples",
                              "gives no record of any of them",
                              "put documents into the samples that the reader is for",
                              1,
                              {}});
    }
    for (const Fault& fault : check.faults) known_.insert(fault.rule);
    if (!check.faults.empty()) check.why_left_out.clear();
    check.result = !check.faults.empty()         ? Check::Result::kFault
                   : !check.why_left_out.empty() ? Check::Result::kLeftOut
                                                 : Check::Result::kOk;
  }

  const reading::Manifest& manifest_;
  const reading::Options options_;
  const std::vector<Sample> samples_;
  const Effort& effort_;
  bool has_functions_ = false, has_descriptor_ = false;
  std::set<size_t> bad_samples_;  // indices: the reader did not come to their end
  std::set<std::string> known_;   // rules that were told
};

Result<void> prepare(const reading::Manifest& manifest, std::vector<Sample>& samples) {
  for (Sample& sample : samples) {
    const auto problems = reading::check_options(manifest, sample.options);
    if (!problems.empty())
      return base::input_error("the options of the sample " + sample.name + ": " +
                               problems.front().second);
    sample.options = reading::with_defaults(manifest, std::move(sample.options));
  }
  return {};
}

}  // namespace

std::vector<std::string_view> check_names() {
  std::vector<std::string_view> names{"manifest"};
  for (const Plan& plan : kPlans) names.emplace_back(plan.name);
  return names;
}

Result<Report> vet(const Candidate& candidate, const Effort& effort,
                   const std::function<void(const Check&)>& told) {
  auto samples = load_samples(candidate.samples, candidate.options);
  if (!samples) return samples.error();
  Report report;
  report.manifest = candidate.manifest;
  report.samples = samples->size();
  for (const Sample& sample : *samples) report.sample_bytes += sample.bytes.size();

  Check check = begun("manifest", "is read, and says what is needed");
  const auto manifest = check_manifest(candidate.manifest, check);
  check.result = check.faults.empty() ? Check::Result::kOk : Check::Result::kFault;
  report.checks.push_back(check);
  if (manifest) {
    report.name = manifest->name;
    report.version = manifest->version;
    report.library = manifest->library;
    if (auto ready = prepare(*manifest, *samples); !ready) return ready.error();
  }
  told(check);
  if (!manifest) return report;
  auto done = Vetting(*manifest, candidate.options, std::move(*samples), effort).run(report, told);
  if (!done) return done.error();
  return report;
}

}  // namespace girdle::vet
