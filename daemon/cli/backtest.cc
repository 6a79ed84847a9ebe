// girdled backtest: what another policy would have said.
#include "service/backtest.h"

#include <ostream>

#include "base/json.h"
#include "base/text.h"
#include "cli/moment.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"
#include "config/load.h"
#include "service/house_builder.h"

namespace girdle::cli {
namespace {

using base::JsonWriter;
using base::Result;
using service::BacktestReport;
using service::ChangedCase;
using service::Verdict;

constexpr int kDispositions = 5;
constexpr int64_t kChangesShown = 100;  // to a person; --json and --csv have all

std::string_view word(int disposition) {
  return model::text(static_cast<model::Disposition>(disposition));
}

// RFC 4180: in quotes where it has a comma, a quote or a line's end.
std::string csv_field(std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + '"';
}

std::string csv_verdict(const Verdict& v) {
  return std::string(model::text(v.disposition)) + ',' + csv_field(v.reason) + ',' +
         std::to_string(v.rule) + ',' + (v.required > 0 ? std::to_string(v.required) : "") + ',' +
         csv_field(v.note);
}

void write_verdict(JsonWriter& json, std::string_view name, const Verdict& v) {
  json.key(name).begin_object().member("disposition", model::text(v.disposition));
  json.member("reason", std::string_view(v.reason)).member("rule", int64_t{v.rule});
  if (v.required > 0) json.member("required", int64_t{v.required});
  json.member_or_null("note", v.note).end_object();
}

// "release (as_declared, rule 12)", with the runs asked for where those are what differs.
std::string verdict_text(const Verdict& v, bool with_runs) {
  std::string text = std::string(model::text(v.disposition)) + " (" + v.reason;
  if (v.rule > 0) text += ", rule " + std::to_string(v.rule);
  if (with_runs && v.required > 0)
    text += ", asked for " + base::counted(static_cast<uint64_t>(v.required), "run");
  return text + ')';
}

class ChangePrinter {
 public:
  ChangePrinter(Screen& screen, BacktestOptions::Form form) : screen_(screen), form_(form) {
    if (form_ == BacktestOptions::Form::kCsv) {
      screen_.out << "stock_number,case,outcome,finding,declared,value,channel,old_disposition,old_"
                     "reason,old_rule,old_required,old_note,"
                     "new_disposition,new_reason,new_rule,new_required,new_note\r\n";
    }
  }

  void operator()(const ChangedCase& c) {
    switch (form_) {
      case BacktestOptions::Form::kPeople:
        add_row(c);
        return;
      case BacktestOptions::Form::kCsv:
        write_csv(c);
        return;
      case BacktestOptions::Form::kJson:
        write_json(c);
        return;
    }
  }

  // What was kept back for a person.
  void finish() {
    if (table_.empty()) return;
    screen_.out << '\n';
    table_.print(screen_);
    if (shown_ > kChangesShown) {
      screen_.out << "and " << shown_ - kChangesShown << " more with another disposition\n";
    }
    screen_.out << "--csv and --json have all that would come out otherwise\n";
  }

 private:
  // A person looks at what is to be done otherwise.
  void add_row(const ChangedCase& c) {
    if (c.old_verdict.disposition == c.new_verdict.disposition) return;
    if (++shown_ > kChangesShown) return;
    const bool with_runs =
        c.new_verdict.required > 0 && c.old_verdict.required != c.new_verdict.required;
    table_.add(
        {c.key, verdict_text(c.old_verdict, with_runs), verdict_text(c.new_verdict, with_runs)});
  }

  void write_csv(const ChangedCase& c) {
    const model::Evidence& e = c.evidence;
    const auto number = [](const std::optional<base::Decimal>& value) {
      return value ? value->text() : std::string();
    };
    screen_.out << csv_field(c.key) << ',' << c.case_id << ',' << c.sequence << ','
                << model::text(e.finding) << ',' << (e.declared ? model::text(*e.declared) : "none")
                << ',' << number(e.stone.value) << ',' << csv_field(e.stone.channel) << ','
                << csv_verdict(c.old_verdict) << ',' << csv_verdict(c.new_verdict) << "\r\n";
  }

  void write_json(const ChangedCase& c) {
    std::string out;
    JsonWriter json(out);
    json.begin_object()
        .member("stock_number", std::string_view(c.key))
        .member("case", std::string_view(c.case_id));
    json.member("finding", model::text(c.evidence.finding));
    json.member("declared", c.evidence.declared ? model::text(*c.evidence.declared) : "none");
    json.member_or_null("value", c.evidence.stone.value
                                     ? std::string_view(c.evidence.stone.value->text())
                                     : std::string_view());
    json.member_or_null("channel", c.evidence.stone.channel);
    json.member("sequence", c.sequence).member("old_policy", std::string_view(c.old_policy.digest));
    write_verdict(json, "old", c.old_verdict);
    write_verdict(json, "new", c.new_verdict);
    json.end_object();
    screen_.out << out << '\n';
  }

  Screen& screen_;
  BacktestOptions::Form form_;
  TableView table_{{"STOCK NUMBER", "WAS", "WOULD BE"}};
  int64_t shown_ = 0;
};

void print_summary(Screen& screen, const BacktestReport& report, const std::string& candidate,
                   bool is_replayed) {
  if (is_replayed) {
    screen.out << "history  " << report.replayed << " of "
               << base::counted(static_cast<uint64_t>(report.outcomes), "outcome")
               << " come out as stored";
    if (report.by_hand > 0) {
      screen.out << "; " << report.by_hand
                 << (report.by_hand == 1 ? " was decided by hand" : " were decided by hand");
    }
    if (report.unknown > 0) {
      screen.out << "; " << report.unknown
                 << " cannot be computed again: they were written before the ledger kept what they "
                    "rest on";
    }
    if (report.mismatched > 0) screen.out << "; " << report.mismatched << " do not";
    screen.out << '\n';
  }
  screen.out << "cases    " << report.cases << " looked at by " << candidate << "; "
             << report.changed << " would come out otherwise, " << report.moved()
             << " of them with another disposition\n";
  if (report.cases_by_hand > 0) {
    screen.out << "         "
               << base::counted(static_cast<uint64_t>(report.cases_by_hand), "more case")
               << " a person decided: they stay as they are\n";
  }
  screen.out << '\n';
  std::vector<std::string> heads = {"WAS, WOULD BE"};
  for (int i = 0; i < kDispositions; ++i) heads.emplace_back(word(i));
  TableView matrix(std::move(heads));
  for (int from = 0; from < kDispositions; ++from) {
    std::vector<std::string> row = {std::string(word(from))};
    for (const int64_t count : report.matrix[static_cast<size_t>(from)])
      row.push_back(count == 0 ? "." : std::to_string(count));
    matrix.add(std::move(row));
  }
  matrix.print(screen);
}

void print_json_summary(Screen& screen, const BacktestReport& report,
                        const model::PolicyStamp& candidate) {
  std::string out;
  JsonWriter json(out);
  json.begin_object().key("summary").begin_object();
  json.key("policy").begin_object().member("name", std::string_view(candidate.name));
  json.member("version", std::string_view(candidate.version))
      .member("digest", std::string_view(candidate.digest))
      .end_object();
  json.member("outcomes", report.outcomes).member("replayed", report.replayed);
  json.member("by_hand", report.by_hand).member("cases_by_hand", report.cases_by_hand);
  json.member("unknown", report.unknown).member("mismatched", report.mismatched);
  json.member("cases", report.cases).member("changed", report.changed);
  json.member("moved", report.moved());
  json.key("matrix").begin_object();
  for (int from = 0; from < kDispositions; ++from) {
    json.key(word(from)).begin_object();
    for (int to = 0; to < kDispositions; ++to) {
      json.member(word(to), report.matrix[static_cast<size_t>(from)][static_cast<size_t>(to)]);
    }
    json.end_object();
  }
  json.end_object().end_object().end_object();
  screen.out << out << '\n';
}

void print_mismatches(Screen& screen, const BacktestReport& report) {
  for (const service::Mismatch& m : report.mismatches) {
    screen.err << "girdled: " << m.key << ", outcome " << m.case_id << '-' << m.sequence
               << " does not follow from what it rests on: " << m.text << '\n';
  }
  const auto told = static_cast<int64_t>(report.mismatches.size());
  if (report.mismatched > told)
    screen.err << "girdled: and " << report.mismatched - told << " more\n";
}

// The candidate, with the instruments of the configuration.
std::optional<service::Rules> candidate_of(Screen& screen, const OpenLedger& open,
                                           const std::filesystem::path& file) {
  config::LoadedPolicy loaded = config::load_policy(file, open.settings.timezone);
  config::Problems notices;
  const auto rules = service::build_rules(open.settings, loaded.policy, loaded.problems, &notices);
  if (loaded.problems.empty()) return rules;
  config::put_in_order(loaded.problems, file.string());
  for (const config::Problem& problem : loaded.problems)
    screen.err << config::format(problem) << '\n';
  return std::nullopt;
}

int tell(Screen& screen, BacktestOptions::Form form, ChangePrinter& changes,
         const Result<BacktestReport>& report, const model::PolicyStamp& candidate,
         bool is_replayed) {
  if (!report) return fail(screen, report.error());
  print_mismatches(screen, *report);
  if (form == BacktestOptions::Form::kJson) print_json_summary(screen, *report, candidate);
  if (form == BacktestOptions::Form::kPeople) {
    print_summary(screen, *report, candidate.name + " version " + candidate.version, is_replayed);
    changes.finish();
  }
  return report->mismatched > 0 ? 1 : 0;
}

}  // namespace

int backtest(Screen& screen, const std::filesystem::path& config, const BacktestOptions& options) {
  const auto since = moment(options.since, base::Instant::min());
  if (!since) return fail(screen, since.error());
  const auto until = moment(options.until, base::Instant::max());
  if (!until) return fail(screen, until.error());
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  if (!options.site.empty() && options.site != open->settings.site) {
    return fail(screen, base::call_error("--site: this ledger is of the site " +
                                         open->settings.site + " alone"));
  }
  const service::BacktestSpan span{*since, *until};
  ChangePrinter changes(screen, options.form);
  const auto on_changed = [&](const ChangedCase& changed) { changes(changed); };
  const auto& shadow = open->settings.shadow_policy;
  if (options.policy.empty() && !shadow) {
    return fail(screen, base::input_error(
                            "the configuration has no shadow_policy; name one with --policy FILE"));
  }
  const auto rules = candidate_of(
      screen, *open, options.policy.empty() ? std::filesystem::path(shadow->file) : options.policy);
  if (!rules) return 1;
  if (!options.shadow) {
    const auto report =
        service::backtest(*open->ledger, *open->shelf, *rules->house, span, on_changed);
    return tell(screen, options.form, changes, report, rules->house->stamp, true);
  }
  const auto number = open->ledger->find_house(rules->house->stamp.digest);
  if (!number) {
    return fail(screen, base::input_error("that policy has not answered in the shadow: start or "
                                          "reload girdled with it as shadow_policy"));
  }
  const auto report =
      service::compare_shadow(*open->ledger, *open->shelf, *number, span, on_changed);
  return tell(screen, options.form, changes, report, rules->house->stamp, false);
}

}  // namespace girdle::cli
