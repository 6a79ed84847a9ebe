// girdled policies, instruments: what was in force when, and how well the instruments do.
#include <ostream>

#include "base/json.h"
#include "base/time.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"
#include "config/load.h"
#include "evidence/verification.h"

namespace girdle::cli {
namespace {

using base::JsonWriter;

constexpr double kConfidence = 0.95;

void print_activation_json(Screen& screen, const ledger::Activation& activation,
                           const model::PolicyStamp& stamp) {
  std::string out;
  JsonWriter json(out);
  json.begin_object().member("at", std::string_view(base::format_rfc3339(activation.at)));
  json.member("name", std::string_view(stamp.name))
      .member("version", std::string_view(stamp.version));
  json.member("digest", std::string_view(stamp.digest));
  json.member_or_null("valid_from",
                      activation.valid_from
                          ? std::string_view(base::format_rfc3339(*activation.valid_from))
                          : std::string_view());
  json.member_or_null("approved_by", activation.approved_by)
      .member_or_null("why", activation.why)
      .end_object();
  screen.out << out << '\n';
}

void write_rate(JsonWriter& json, std::string_view name, const evidence::Rate& rate) {
  const auto share = [](double value) {
    return base::Decimal::make(static_cast<int64_t>(value * 1e6 + 0.5), -6)->text();
  };
  json.key(name).begin_object().member("hits", rate.hits).member("trials", rate.trials);
  json.member("low", std::string_view(share(rate.interval.low)))
      .member("high", std::string_view(share(rate.interval.high)));
  json.member("upper", std::string_view(share(rate.upper))).end_object();
}

std::optional<evidence::Verification> verification_of(const config::Instrument& instrument) {
  if (!instrument.known_stones) return std::nullopt;
  evidence::ConfusionCounts counts;
  counts.of = instrument.known_stones->counts;
  return evidence::verification(counts, kConfidence);
}

void print_instrument_json(Screen& screen, const config::Instrument& instrument) {
  std::string out;
  JsonWriter json(out);
  json.begin_object()
      .member("serial", std::string_view(instrument.serial))
      .member_or_null("bench", instrument.bench);
  json.key("known_stones");
  if (const auto verified = verification_of(instrument)) {
    json.begin_object().member("source", std::string_view(instrument.known_stones->source));
    write_rate(json, "miss", verified->miss);
    write_rate(json, "referral", verified->referral);
    write_rate(json, "accuracy", verified->accuracy);
    write_rate(json, "wrongly_suspected", verified->wrongly_suspected);
    json.end_object();
  } else {
    json.null();
  }
  json.end_object();
  screen.out << out << '\n';
}

}  // namespace

int list_policies(Screen& screen, const std::filesystem::path& config, bool json) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  TableView table({"IN FORCE FROM", "POLICY", "VERSION", "APPROVED BY", "DIGEST", "WHY"});
  const auto listed = open->ledger->each_activation(
      [&](const ledger::Activation& activation, const model::PolicyStamp& stamp) {
        if (json) return print_activation_json(screen, activation, stamp);
        constexpr size_t kDigestShown = 15;  // "sha256:" and eight digits
        table.add({local_time(activation.at, open->settings.timezone), stamp.name, stamp.version,
                   activation.approved_by, stamp.digest.substr(0, kDigestShown), activation.why});
      });
  if (!listed) return fail(screen, listed.error());
  if (json) return 0;
  if (table.empty()) {
    screen.err << "No policy has been in force yet.\n";
  } else {
    table.print(screen);
  }
  return 0;
}

int list_instruments(Screen& screen, const std::filesystem::path& config, bool json) {
  const config::Loaded loaded = config::load(config);
  if (!loaded.ok()) {
    for (const config::Problem& problem : loaded.problems)
      screen.err << config::format(problem) << '\n';
    return 1;
  }
  for (const config::Instrument& instrument : loaded.settings.instruments) {
    if (json) {
      print_instrument_json(screen, instrument);
      continue;
    }
    screen.out << bold(screen, instrument.serial)
               << (instrument.bench.empty() ? "" : "  on " + instrument.bench) << '\n';
    const auto verified = verification_of(instrument);
    if (!verified) {
      screen.out << "  no known stones are given: no probability is computed from its readings\n";
      continue;
    }
    const auto line = [&](const char* name, const evidence::Rate& rate) {
      screen.out << "  " << name << evidence::in_words(rate) << '\n';
    };
    line("misses (laboratory-grown passed as natural)         ", verified->miss);
    line("referrals (natural, and it cannot tell)             ", verified->referral);
    line("accuracy (natural, and it says so)                  ", verified->accuracy);
    line("wrongly suspected (natural, and it says otherwise)  ", verified->wrongly_suspected);
    screen.out << "  by " << instrument.known_stones->source << "; intervals at 95 %\n";
  }
  if (loaded.settings.instruments.empty() && !json)
    screen.err << "The configuration has no instruments.\n";
  return 0;
}

}  // namespace girdle::cli
