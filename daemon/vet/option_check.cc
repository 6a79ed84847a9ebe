// What create takes and what it refuses; and the calls at the edges of a document's life.
#include <algorithm>
#include <memory>

#include "base/text.h"
#include "vet/checks.h"

namespace girdle::vet {
namespace {

Terms defaults(const Bench& bench) { return {.options = bench.options}; }

void set(reading::Options& options, const std::string& name, const std::string& value) {
  const auto given = std::find_if(options.begin(), options.end(),
                                  [&](const auto& option) { return option.first == name; });
  if (given == options.end()) {
    options.emplace_back(name, value);
  } else {
    given->second = value;
  }
}

// Whether create takes it; its breaches are told.
bool takes(const Bench& bench, const Terms& terms, std::string* refusal = nullptr) {
  bench.trial.tried();
  const Session session(bench.trial, bench.loaded, terms);
  if (refusal) *refusal = session.refusal();
  return session.begun();
}

// One choice may need others beside it, so a refusal is no fault by itself.
void look_at_values(const Bench& bench, const Terms& good) {
  for (const reading::OptionRule& option : bench.manifest.options) {
    std::vector<std::string> values = option.choices;
    if (option.type == reading::OptionRule::Type::kBoolean) values = {"true", "false"};
    for (const std::string& value : values) {
      const std::string set_to = option.name + ": " + value;
      bench.trial.at("option " + set_to);
      Terms terms = good;
      set(terms.options, option.name, value);
      std::string refusal;
      if (!takes(bench, terms, &refusal) && !refusal.empty())
        bench.trial.note("with " + set_to + " it refuses: " + refusal);
    }
  }
}

void look_at_limits(const Bench& bench, const Terms& good) {
  const auto with = [&](uint64_t bytes, uint64_t fields) {
    Terms terms = good;
    terms.max_record_bytes = bytes;
    terms.max_fields = fields;
    bench.trial.at("max_record_bytes " + std::to_string(bytes) + ", max_fields " +
                   std::to_string(fields));
    std::string refusal;
    const bool taken = takes(bench, terms, &refusal);
    if (!taken && bytes >= 64 && fields > 0 && !refusal.empty())
      bench.trial.note("with these limits it refuses: " + refusal);
    return taken;
  };
  constexpr const char* kRight = "refuse max_record_bytes below 64 and max_fields below 1";
  if (with(63, 1) || with(64, 0))
    bench.trial.fault("options.least", "takes limits that are too small", kRight);
  with(64, 1);  // options may need more fields
  if (!with(UINT64_MAX, UINT64_MAX))
    bench.trial.fault("options.limits", "refuses large limits",
                      "take more than 1 GiB for 1 GiB, and reserve nothing beforehand");
}

void look_at_edges(const Bench& bench, const Terms& good) {
  Trial& trial = bench.trial;
  trial.tried(3);
  trial.at("a document of no bytes, never fed");
  if (Session session(trial, bench.loaded, good); session.begun()) {
    session.save();
    session.finish();
  }
  trial.at("a document of no bytes, fed nothing twice");
  if (Session session(trial, bench.loaded, good);
      session.begun() && session.feed_nothing() && session.feed_nothing()) {
    session.finish();
  }
  trial.at("two readers at once, the first one ended first");
  auto first = std::make_unique<Session>(trial, bench.loaded, good);
  if (Session second(trial, bench.loaded, good); second.begun()) {
    first.reset();
    second.finish();
  }
}

// A host of a later version has larger structs, and says so in their size.
void look_at_newer_host(const Bench& bench, Terms terms) {
  bench.trial.at("a newer host, whose structs have members more");
  terms.newer_host = true;
  std::string refusal;
  if (!takes(bench, terms, &refusal))
    bench.trial.fault("options.newer-host", "refuses a host whose structs are longer: " + refusal,
                      "take any size from the one that you know on; the rest is not for you");
}

// Options that the reader takes: the defaults, else those of a sample.
std::optional<Terms> good_terms(const Bench& bench) {
  bench.trial.at("with the manifest's defaults");
  std::string refusal;
  if (takes(bench, defaults(bench), &refusal)) return defaults(bench);
  if (!refusal.empty()) bench.trial.note("with its defaults alone it refuses: " + refusal);
  for (const Sample& sample : bench.samples) {
    bench.trial.at("with the options of " + sample.name);
    if (const Terms terms{.options = sample.options}; takes(bench, terms)) return terms;
  }
  return std::nullopt;
}

// What fits its type, so that girdled hands it over, and may make no sense.
std::vector<std::string> odd_values(reading::OptionRule::Type type) {
  using Type = reading::OptionRule::Type;
  switch (type) {
    case Type::kText:
      return {"", " ", "\"", "[", "(", "%", "a\nb", "\xC3\xA9", std::string(10'000, 'x')};
    case Type::kCharacter:
      return {"none", "tab", "\\t", "\"", "x", "\n", "\xC3\xA9", std::string(1, '\0')};
    case Type::kInteger:
      return {"0", "-1", "1", "4294967296", "99999999999999999", "-99999999999999999"};
    case Type::kBoolean:
    case Type::kChoice:
      return {};  // look_at_values has them all
  }
  return {};
}

}  // namespace

Terms Bench::terms() const { return {.options = sample().options}; }

void check_options(const Bench& bench) {
  const std::optional<Terms> good = good_terms(bench);
  if (!good) {
    bench.trial.at("with the manifest's defaults, and with the options of every sample");
    bench.trial.fault("options.refused", "refuses to begin",
                      "take the defaults, or the options that lie beside a sample");
    return;
  }
  look_at_values(bench, *good);
  look_at_limits(bench, *good);
  look_at_edges(bench, *good);
  look_at_newer_host(bench, *good);
}

// To be refused, or to be read with.
void check_values(const Bench& bench) {
  for (const reading::OptionRule& option : bench.manifest.options) {
    for (const std::string& value : odd_values(option.type)) {
      if (!bench.trial.time_left()) return;
      bench.at("option " + option.name + ": \"" + base::excerpt(value, 40) + '"');
      Terms terms = bench.terms();
      set(terms.options, option.name, value);
      bench.trial.tried();
      Session session(bench.trial, bench.loaded, terms);
      if (session.begun() && session.feed(std::string_view(bench.sample().bytes).substr(0, 4096)))
        session.finish();
    }
  }
}

}  // namespace girdle::vet
