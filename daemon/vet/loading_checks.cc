// The library as a file, what it negotiates, and what its descriptors say.
#include <algorithm>
#include <cstring>

#include "base/text.h"
#include "reading/library.h"
#include "vet/apart.h"
#include "vet/checks.h"
#include "vet/exports.h"
#include "vet/system_calls.h"

namespace girdle::vet {
namespace {

constexpr std::string_view kFunctions[] = {"girdle_reader_descriptor_at",
                                           "girdle_reader_negotiate"};
constexpr uint32_t kUntouched = 0xA5A5A5A5;

void look_at_exports(const Bench& bench) {
  auto names = exported_names(bench.manifest.library.string());
  if (!names) {
    bench.trial.fault("library.file", names.error().text, "library names a shared library");
    return;
  }
  std::vector<std::string_view> others;
  for (const std::string& name : *names) {
    if (std::find(std::begin(kFunctions), std::end(kFunctions), name) == std::end(kFunctions))
      others.push_back(name);
  }
  for (const std::string_view function : kFunctions) {
    if (std::find(names->begin(), names->end(), function) == names->end())
      bench.trial.fault("library.functions", "does not export " + std::string(function),
                        "define it outside any namespace, after including girdle/reader.h");
  }
  if (others.empty()) return;
  const size_t shown = std::min<size_t>(others.size(), 3);
  bench.trial.fault(
      "library.exports",
      "exports " + std::to_string(others.size()) +
          " more: " + base::excerpt(base::listed(std::span(others).first(shown)), 120) +
          (shown < others.size() ? ", …" : ""),
      "nothing but the two functions, so that readers cannot get into each other's way: hidden "
      "visibility and the version script, as girdle_add_reader() does");
}

struct Offer {
  uint32_t min, max;
  bool has_ours;  // version 1 is in it
};

void look_at_offer(const Bench& bench, const Offer& offer) {
  const std::string versions =
      "versions " + std::to_string(offer.min) + " to " + std::to_string(offer.max);
  bench.trial.at("offered " + versions);
  bench.trial.tried();
  uint32_t chosen = kUntouched;
  girdle_status status;
  {
    const InCall call(bench.trial, Call::kNegotiate);
    status = bench.loaded.negotiate(offer.min, offer.max, &chosen);
  }
  if (status == GIRDLE_OK && (chosen < offer.min || chosen > offer.max)) {
    bench.trial.fault("negotiation.chosen", "chooses version " + std::to_string(chosen),
                      "choose among those that are offered, else GIRDLE_UNSUPPORTED");
  } else if (status == GIRDLE_UNSUPPORTED && chosen != kUntouched) {
    bench.trial.fault("negotiation.touched", "writes a version though it has none in common",
                      "leave *chosen untouched with GIRDLE_UNSUPPORTED");
  } else if (status != GIRDLE_OK && status != GIRDLE_UNSUPPORTED) {
    bench.trial.fault("negotiation.status", "answers " + std::to_string(status),
                      "GIRDLE_OK or GIRDLE_UNSUPPORTED");
  } else if (offer.has_ours && status != GIRDLE_OK) {
    bench.trial.fault("negotiation.ours", "does not take version 1, which is among them",
                      "take the newest version in the range that the reader speaks; build it "
                      "against this version's kit");
  }
}

using Descriptor = girdle_reader_descriptor;

// Of all, also the one that girdled can do without.
const char* function_left_out(const Descriptor& descriptor) {
  const char* const needed = reading::function_left_out(descriptor);
  return needed == nullptr && !descriptor.extension ? "extension" : needed;
}

void look_at_extension(const Bench& bench, const Descriptor& descriptor) {
  const void* answer;
  {
    const InCall call(bench.trial, Call::kExtension);
    answer = descriptor.extension("girdle.no-such-thing/1");
  }
  if (answer)
    bench.trial.fault("descriptor.extension", "has every extension that it is asked for",
                      "extension gives NULL for an id that it does not know");
}

void look_at_descriptor(const Bench& bench, const Descriptor& descriptor) {
  Trial& trial = bench.trial;
  if (descriptor.size < sizeof descriptor) {
    trial.fault("descriptor.size", "says that its size is " + std::to_string(descriptor.size),
                "size is sizeof(girdle_reader_descriptor)");
    return;
  }
  if (descriptor.reserved != 0)
    trial.fault("descriptor.reserved", "its member reserved is not 0", "set it to 0");
  if (const char* const function = function_left_out(descriptor)) {
    trial.fault("descriptor.function", std::string("leaves out its function ") + function,
                "all functions are there; one that has nothing to do is empty");
    return;
  }
  if (!descriptor.name || !descriptor.version) {
    trial.fault("descriptor.name", "has no name or no version", "both as in the manifest");
    return;
  }
  look_at_extension(bench, descriptor);
}

void look_at_ours(const Bench& bench, const Descriptor& descriptor) {
  if (!descriptor.version || descriptor.version == bench.manifest.version) return;
  bench.trial.fault("descriptor.version",
                    "is version \"" + base::excerpt(descriptor.version) +
                        "\", the manifest says \"" + base::excerpt(bench.manifest.version) + '"',
                    "say the same in both");
}

void look_at_names(const Bench& bench, const std::vector<const Descriptor*>& all) {
  std::vector<std::string_view> names;
  for (const Descriptor* descriptor : all) {
    if (descriptor->size < sizeof *descriptor || !descriptor->name) continue;
    if (std::find(names.begin(), names.end(), descriptor->name) != names.end())
      bench.trial.fault("descriptor.twice",
                        "there are two readers " + base::excerpt(descriptor->name),
                        "a name stands for one reader");
    names.emplace_back(descriptor->name);
  }
  if (std::find(names.begin(), names.end(), bench.manifest.name) == names.end())
    bench.trial.fault("descriptor.missing",
                      "has no reader " + bench.manifest.name + "; it has " +
                          (names.empty() ? "none" : base::excerpt(base::listed(names), 200)),
                      "the descriptor's name is the manifest's");
}

}  // namespace

void check_library(const Bench& bench) {
  bench.trial.at(bench.manifest.library.filename().string());
  bench.trial.tried();
  look_at_exports(bench);
  const bool told = bench.trial.told("library.functions") || bench.trial.told("library.file");
  // What is done by loading alone is done before anybody could know that the reader is unfit.
  if (!kSanitized) allow_only(Allowed::kLoading, bench.trial.report());
  const Loaded loaded = load(bench.trial, bench.manifest);
  if (!loaded.negotiate && !told)
    bench.trial.fault("library.load", "cannot be loaded: " + base::excerpt(loaded.error, 300),
                      "link all that it needs: readers are loaded with RTLD_NOW");
}

void check_negotiation(const Bench& bench) {
  // What a host may offer that speaks older versions, ours, newer ones, or some of them.
  static constexpr Offer kOffers[] = {
      {1, 1, true},          {0, 0, false}, {0, 1, true},  {1, 2, true},
      {1, UINT32_MAX, true}, {2, 2, false}, {2, 9, false}, {UINT32_MAX, UINT32_MAX, false}};
  for (const Offer& offer : kOffers) {
    look_at_offer(bench, offer);
    look_at_offer(bench, offer);  // the answer of a second host is the same
  }
}

void check_descriptor(const Bench& bench) {
  bench.trial.at(bench.manifest.library.filename().string());
  const std::vector<const Descriptor*> all = descriptors(bench.trial, bench.loaded);
  const std::vector<const Descriptor*> again = descriptors(bench.trial, bench.loaded);
  bench.trial.tried(all.size());
  if (all != again)
    bench.trial.fault("descriptor.moves", "gives another descriptor at the next call",
                      "the same pointer at every call, good until the library is unloaded");
  if (all.size() == kMostReaders)
    bench.trial.fault("descriptor.endless", "has a descriptor for every index",
                      "NULL past the last one");
  const InCall call(bench.trial, Call::kDescriptorAt);
  if (bench.loaded.descriptor_at(UINT32_MAX))
    bench.trial.fault("descriptor.endless", "has a descriptor for index 4294967295",
                      "NULL past the last one");
  look_at_names(bench, all);
  for (const Descriptor* descriptor : all) {
    const bool ours = descriptor->size >= sizeof *descriptor && descriptor->name &&
                      bench.manifest.name == descriptor->name;
    if (!ours && all.size() > 1) continue;  // another reader has a manifest of its own
    look_at_descriptor(bench, *descriptor);
    if (ours) look_at_ours(bench, *descriptor);
  }
}

}  // namespace girdle::vet
