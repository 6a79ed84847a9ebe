// The command line: what there is to call, and how it is called.
#include <sys/ioctl.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <iostream>

#include "cli/commands.h"
#include "model/words.h"

namespace girdle::cli {
namespace {

constexpr const char* kAbout =
    "girdled ties the results of diamond screening instruments to stock numbers, gathers repeat runs into cases,\n"
    "applies the house's policy, and tells the till and the inventory.\n";

constexpr const char* kCaution =
    "A screening result is no identification report. Where it matters, ask a qualified gemmological laboratory; local\n"
    "rules on disclosure apply. Never open an instrument's cover or defeat the interlock of its lamp or laser.\n"
    "\n"
    "Exit codes: 0 done, 1 the input or the state is wrong, 2 the call is wrong, 3 the environment failed.";

struct Arguments {
  std::string config = "girdled.yaml";
  bool once = false, json = false, csv = false, explain = false;
  std::string draft_policy, intake, stock_number, table, decision, input = "-";
  std::vector<std::string> samples;
  std::string outlet;
  ListOptions list;
  VetOptions vet;
  DraftOptions draft;
  BacktestOptions backtest;
  ResendOptions resend;
  std::string why;
  std::string name, role;
};

void add_config(CLI::App* verb, Arguments& a) {
  verb->add_option("--config,-c", a.config, "The configuration")->type_name("FILE")->capture_default_str();
}

void add_list(CLI::App* verb, Arguments& a) {
  add_config(verb, a);
  verb->add_option("--since", a.list.since, "From a time, a date, or a duration ago (8h, 30d)")->type_name("WHEN");
  verb->add_option("--until", a.list.until, "Up to then")->type_name("WHEN");
  verb->add_option("--limit", a.list.limit, "At most so many, the newest")->capture_default_str()->check(CLI::PositiveNumber);
  verb->add_flag("--json", a.list.json, "One JSON object a line, for programs");
}

void add_stock(CLI::App* verb, Arguments& a) {
  verb->add_option("stock", a.list.stock_number, "A stock number, or its beginning and *")->type_name("STOCK");
}

void add_policy_verbs(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* back = app.add_subcommand("backtest",
                                  "Try a policy on the past: first every outcome is computed again by the policy of its\n"
                                  "time and must come out as stored; then the cases are decided by the new one. Reads only");
  add_config(back, a);
  auto* policy = back->add_option("--policy", a.backtest.policy, "The policy to try; else the shadow_policy")->type_name("FILE");
  auto* shadow = back->add_flag("--shadow", a.backtest.shadow, "Nothing is tried: what that policy said in the shadow");
  back->add_option("--since", a.backtest.since, "Cases decided from a time, a date, or a duration ago (30d)")->type_name("WHEN");
  back->add_option("--until", a.backtest.until, "Up to then")->type_name("WHEN");
  back->add_option("--site", a.backtest.site, "Of this site; a shop's ledger has one")->type_name("SITE");
  auto* json = back->add_flag("--json", a.json, "Each changed case as a JSON object a line, then the summary");
  auto* csv = back->add_flag("--csv", a.csv, "The changed cases as CSV");
  json->excludes(csv);
  back->callback([&, policy, shadow] {
    if (policy->count() + shadow->count() == 0) throw CLI::RequiredError("--policy or --shadow");
    using Form = BacktestOptions::Form;
    a.backtest.form = a.json ? Form::kJson : a.csv ? Form::kCsv : Form::kPeople;
    code = backtest(screen, a.config, a.backtest);
  });

  auto* policies = app.add_subcommand("policies", "List the policies that came into force: when, by whom, why");
  add_config(policies, a);
  policies->add_flag("--json", a.json, "One JSON object a line");
  policies->callback([&] { code = list_policies(screen, a.config, a.json); });

  auto* instruments = app.add_subcommand("instruments", "Tell how the instruments did on stones whose identity is known");
  add_config(instruments, a);
  instruments->add_flag("--json", a.json, "One JSON object a line");
  instruments->callback([&] { code = list_instruments(screen, a.config, a.json); });
}

void add_vet(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* verb = app.add_subcommand("vet", "Tell the author of a reader all that is wrong with it, before a shop finds it.\n"
                                       "Beside a sample may lie NAME.options.yaml, the options that it is read with, and\n"
                                       "NAME.expected.json, what must come of it. The kit's README.md tells each check");
  verb->add_option("reader", a.vet.reader, "Its manifest, a folder with one, or its name")->required()->type_name("READER");
  verb->add_option("--samples", a.vet.samples, "Documents as the instrument writes them")->required()->type_name("FOLDER");
  verb->add_option("--option", a.vet.options, "An option, for samples without their own")->type_name("NAME=VALUE");
  verb->add_option("--readers", a.vet.folders, "Where to look for a name first")->type_name("FOLDER");
  verb->add_option("--time", a.vet.time, "At most so long for each check")->type_name("DURATION")->capture_default_str();
  verb->add_option("--only", a.vet.only, "This check alone; an approval takes all")->type_name("CHECK");
  verb->add_option("--keep", a.vet.keep, "Where changed samples that show a fault go")->type_name("FOLDER");
  verb->add_flag("--json", a.vet.json, "The report as one object (vet.schema.json)");
  for (CLI::Option* many : verb->get_options()) many->allow_extra_args(false);  // one a time: READER may follow
  verb->callback([&] { code = vet(screen, a.vet); });
}

void add_draft(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* verb = app.add_subcommand(
      "draft",
      "Draft a configuration and a mapping from what an instrument wrote, or from\n"
      "what it sends over a line. Each line says beside it what it rests on. Where only\n"
      "a person can know, FILL_IN stands, which check refuses: what a result word means\n"
      "is always left open. Then: fill in, check, preview, run");
  DraftOptions& d = a.draft;
  verb->add_option("samples", d.samples, "Files as the instrument writes them, best several;\n- is standard input")->type_name("SAMPLE");
  verb->add_option("--out,-o", d.out, "Where girdled.yaml and NAME.mapping.yaml go;\nnothing is written over. Without it: standard output")
      ->type_name("FOLDER");
  verb->add_option("--name", d.name, "Of the intake; else after the first sample")->type_name("NAME");
  verb->add_option("--record", d.record, "What the records are, if draft errs")
      ->check(CLI::IsMember({"reading", "declaration", "scan"}));
  verb->add_option("--reader", d.reader, "Only try this reader; needed for one that does not\nship with girdled")->type_name("READER");
  verb->add_option("--readers", d.readers, "Where such a reader lies")->type_name("FOLDER");
  verb->add_option("--option", d.options, "An option of the reader that you know:\nencoding=windows-1252, header=no")->type_name("NAME=VALUE");
  auto* serial = verb->add_option("--serial", d.serial, "Listen on this line. Nothing is sent: an instrument\n"
                                                        "that waits for an answer keeps its results")->type_name("DEVICE");
  verb->add_option("--baud", d.baud, "Bits a second of the line")->capture_default_str()->needs(serial);
  verb->add_option("--data-bits", d.data_bits, "Bits of a character")->capture_default_str()->check(CLI::IsMember({7, 8}))->needs(serial);
  verb->add_option("--parity", d.parity, "The parity bit")->capture_default_str()->check(CLI::IsMember({"none", "even", "odd"}))->needs(serial);
  verb->add_option("--stop-bits", d.stop_bits, "Stop bits")->capture_default_str()->check(CLI::IsMember({1, 2}))->needs(serial);
  verb->add_option("--tcp", d.tcp, "Listen to what this address sends")->type_name("HOST:PORT")->excludes(serial);
  verb->add_option("--seconds", d.seconds, "How long to listen; measure some stones meanwhile")->capture_default_str()
      ->check(CLI::Range(1, 3600));
  verb->callback([&] { code = draft(screen, a.draft); });
}

// An empty text would mean all: a script's variable may be empty.
std::string refuse_empty(const std::string& text) { return text.empty() ? "it is empty" : ""; }

void add_resend(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* verb = app.add_subcommand("resend", "Send deliveries again, under the ids that they have: those of which all holds\n"
                                            "that is said here. Nothing goes out after a later outcome of its case.\n"
                                            "Works while the service runs, and while it does not");
  add_config(verb, a);
  ResendOptions& r = a.resend;
  auto* delivery = verb->add_option("--delivery", r.delivery, "One: its ID in girdled deliveries, or the event's\n"
                                                              "id, as the receiver knows it")->type_name("ID");
  auto* stock = verb->add_option("--stock,--case", r.stock_number, "Of a stock number, or its beginning and *")->type_name("STOCK");
  auto* parked = verb->add_flag("--parked", r.parked, "That are parked: their schedule ended");
  auto* since = verb->add_option("--since", r.since, "Of outcomes from a time, a date, or a duration ago")->type_name("WHEN");
  auto* until = verb->add_option("--until", r.until, "Up to then")->type_name("WHEN");
  verb->add_option("--outlet", r.outlet, "Only to this outlet")->type_name("NAME");
  for (CLI::Option* option : verb->get_options()) {
    if (option->get_items_expected_max() > 0) option->check(CLI::Validator(refuse_empty, "", "given"));
  }
  verb->add_flag("--dry-run", r.dry_run, "Say what would be sent, and send nothing");
  verb->add_flag("--json", r.json, "The counts as one JSON object");
  verb->callback([&, delivery, stock, parked, since, until] {
    if (delivery->count() + stock->count() + parked->count() + since->count() + until->count() == 0) {
      throw CLI::RequiredError("--delivery, --stock, --parked, --since or --until");
    }
    code = resend(screen, a.config, a.resend);
  });
}

void add_outlet_verbs(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* outlet = app.add_subcommand("outlet", "Stop and open outlets. Works while the service runs, and while it does not");
  outlet->require_subcommand(1);
  auto* list = outlet->add_subcommand("list", "Which are open, paused by a person, or closed by\n"
                                              "the receiver (410); how many deliveries wait");
  add_config(list, a);
  list->add_flag("--json", a.json, "One JSON object a line");
  list->callback([&] { code = list_outlets(screen, a.config, a.json); });

  auto* pause = outlet->add_subcommand("pause", "Send nothing to an outlet: its deliveries wait");
  add_config(pause, a);
  pause->add_option("outlet", a.outlet, "The outlet")->required()->type_name("NAME");
  pause->add_option("--why", a.why, "What others should know; your name goes with it")->required()->type_name("TEXT");
  pause->callback([&] { code = pause_outlet(screen, a.config, a.outlet, a.why); });

  auto* resume = outlet->add_subcommand("resume", "Open an outlet that is paused, or closed");
  add_config(resume, a);
  resume->add_option("outlet", a.outlet, "The outlet")->required()->type_name("NAME");
  resume->callback([&] { code = resume_outlet(screen, a.config, a.outlet); });
}

void add_token_verbs(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* token = app.add_subcommand("token", "Let people and programs in over HTTP. Works while the service runs, and\n"
                                            "while it does not");
  token->require_subcommand(1);
  auto* add = token->add_subcommand("add", "Make a token and print it, this once: it is kept nowhere, only its digest");
  add_config(add, a);
  add->add_option("name", a.name, "Whom or what it lets in, such as counter-1")->required()->type_name("NAME");
  add->add_option("--role", a.role, "look: see everything. work: bind, decide, try again,\nbring documents, resend one. admin: pause outlets, too,\nand resend many")
      ->required()
      ->check(CLI::IsMember({"look", "work", "admin"}));
  add->callback([&] { code = add_token(screen, a.config, a.name, a.role); });

  auto* list = token->add_subcommand("list", "Which there are and were; the tokens themselves nobody knows");
  add_config(list, a);
  list->add_flag("--json", a.json, "One JSON object a line");
  list->callback([&] { code = list_tokens(screen, a.config, a.json); });

  auto* revoke = token->add_subcommand("revoke", "Let a token in no more, from now on");
  add_config(revoke, a);
  revoke->add_option("name", a.name, "Its name")->required()->type_name("NAME");
  revoke->callback([&] { code = revoke_token(screen, a.config, a.name); });
}

void add_delivery_verbs(CLI::App& app, Arguments& a, Screen& screen, int& code) {
  auto* verb = app.add_subcommand("deliveries", "List deliveries to outlets, the newest first: how they stand, when the next\n"
                                                "attempt is, what the last answer was");
  add_list(verb, a);
  verb->add_option("stock,--stock,--case", a.list.stock_number, "Stock number, its beginning and *, or a case's id")->type_name("STOCK");
  verb->add_option("--outlet", a.list.outlet, "By the outlet's name")->type_name("NAME");
  verb->add_option("--state", a.list.word, "waiting, sent, parked (given up until a person\nresends it), skipped (a later one went instead)")
      ->check(CLI::IsMember({"waiting", "sent", "parked", "skipped"}));
  verb->add_flag("--why", a.list.why, "With each attempt below");
  verb->callback([&] { code = list_deliveries(screen, a.config, a.list); });

  add_resend(app, a, screen, code);
  add_outlet_verbs(app, a, screen, code);
}

Screen standard_screen() {
  Screen screen{std::cout, std::cerr, isatty(STDOUT_FILENO) == 1, 0};
  winsize size{};
  if (screen.terminal && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0) screen.width = size.ws_col;
  // https://no-color.org: a person who does not want escapes says so.
  if (const char* no_color = std::getenv("NO_COLOR"); no_color && *no_color) screen.terminal = false;
  return screen;
}

}  // namespace

int main(int argc, const char* const* argv) {
  Arguments a;
  Screen screen = standard_screen();
  int code = 0;
  CLI::App app{kAbout, "girdled"};
  app.footer(kCaution);
  app.require_subcommand(1);
  app.set_version_flag("--version", GIRDLE_VERSION);

  auto* run_verb = app.add_subcommand("run", "Run the service (SIGTERM stops it, SIGHUP reads the configuration anew)");
  add_config(run_verb, a);
  run_verb->add_flag("--once", a.once, "Take in what is there, deliver what is due, stop; exit 0 if nothing failed");
  run_verb->callback([&] { code = run(screen, a.config, a.once); });

  auto* check_verb = app.add_subcommand("check", "Say all that is wrong with the configuration, and touch nothing");
  add_config(check_verb, a);
  check_verb->add_flag("--json", a.json, "One JSON object a problem");
  check_verb->add_option("--policy", a.draft_policy, "A policy to check in the place of the one in force")->type_name("FILE");
  check_verb->callback([&] { code = check(screen, a.config, a.draft_policy, a.json); });

  auto* preview_verb = app.add_subcommand(
      "preview", "Show how samples would be read, or what an outlet would be sent, and touch nothing. With --intake: "
                 "readings as JSON lines on standard output, what would be set aside on standard error. With --outlet: "
                 "the request or the file, byte for byte, of a stock number's last outcome");
  add_config(preview_verb, a);
  auto* of_intake = preview_verb->add_option("--intake,-i", a.intake, "The intake whose reader and mapping are used")->type_name("NAME");
  auto* of_outlet = preview_verb->add_option("--outlet,-o", a.outlet, "The outlet that would be told")->type_name("NAME");
  of_intake->excludes(of_outlet);
  preview_verb
      ->add_option("samples", a.samples, "With --intake: files as the instrument writes them; - is standard input. With "
                                         "--outlet: a stock number; without one, an invented outcome is shown")
      ->type_name("SAMPLE|STOCK");
  preview_verb->callback([&] {
    if (of_outlet->count() > 0 && a.samples.size() <= 1) {
      code = preview_outlet(screen, a.config, a.outlet, a.samples.empty() ? std::string() : a.samples.front());
    } else if (of_intake->count() > 0 && !a.samples.empty()) {
      code = preview(screen, a.config, a.intake, {a.samples.begin(), a.samples.end()});
    } else {
      throw CLI::ValidationError("preview needs  --intake NAME SAMPLE…  or  --outlet NAME [STOCK]");
    }
  });

  auto* case_verb = app.add_subcommand("case", "Tell the case of a stock number and why: readings, declarations, duplicates, "
                                               "the rule, outcomes, deliveries");
  add_config(case_verb, a);
  case_verb->add_option("stock", a.stock_number, "The stock number; STOCK#2 for a stone of a piece")->required()->type_name("STOCK");
  case_verb->add_flag("--json", a.json, "One JSON object a case");
  case_verb->callback([&] { code = show_case(screen, a.config, a.stock_number, a.json); });

  auto* cases_verb = app.add_subcommand("cases", "List cases with their last outcome");
  add_list(cases_verb, a);
  add_stock(cases_verb, a);
  cases_verb->add_option("--disposition", a.list.word, "repeat, release, hold, refer or reject")
      ->check(CLI::IsMember({"repeat", "release", "hold", "refer", "reject"}));
  cases_verb->callback([&] { code = list_cases(screen, a.config, a.list); });

  auto* readings_verb = app.add_subcommand("readings", "List readings, and which of them count");
  add_list(readings_verb, a);
  add_stock(readings_verb, a);
  readings_verb->add_option("--instrument", a.list.instrument, "By its serial number");
  readings_verb->add_option("--intake", a.list.intake, "By the way it came");
  readings_verb->add_option("--finding", a.list.word, "natural, laboratory_grown, treated, …")
      ->check(CLI::IsMember({"natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "void"}));
  readings_verb->callback([&] { code = list_readings(screen, a.config, a.list); });

  auto* aside_verb = app.add_subcommand("aside", "List what was set aside and could not be read yet, and why");
  add_list(aside_verb, a);
  aside_verb->add_flag("--all", a.list.all, "What could be read since then, too");
  aside_verb->add_option("--intake", a.list.intake, "By the way it came");
  aside_verb->callback([&] { code = list_aside(screen, a.config, a.list); });

  add_delivery_verbs(app, a, screen, code);

  auto* decide_verb = app.add_subcommand("decide", "Evaluate a decision table on facts, for people who write policies");
  decide_verb->add_option("--table,-t", a.table, "The decision table: YAML, JSON, DMN XML 1.3 to 1.5, or a policy")
      ->required()
      ->type_name("FILE");
  decide_verb->add_option("--decision", a.decision, "The decision of a DMN model with several tables; of a policy table (else), required or routing")->type_name("NAME");
  decide_verb->add_option("--input", a.input, "Facts: JSON, one object a line or one over many; - is standard input")
      ->type_name("FILE")
      ->capture_default_str();
  decide_verb->add_flag("--explain", a.explain, "With each rule's part in it");
  decide_verb->callback([&] { code = decide(screen, a.table, a.decision, a.input, a.explain); });

  add_token_verbs(app, a, screen, code);
  add_policy_verbs(app, a, screen, code);
  add_vet(app, a, screen, code);
  add_draft(app, a, screen, code);

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    const int shown = app.exit(error, std::cout, std::cerr);
    return shown == 0 ? 0 : 2;
  }
  std::cout.flush();
  return code;
}

}  // namespace girdle::cli
