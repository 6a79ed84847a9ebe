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
  bool once = false, json = false, explain = false;
  std::string intake, stock_number, table, input = "-";
  std::vector<std::string> samples;
  ListOptions list;
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
  check_verb->callback([&] { code = check(screen, a.config, a.json); });

  auto* preview_verb = app.add_subcommand("preview", "Show how samples would be read: readings as JSON lines on standard "
                                                     "output, what would be set aside on standard error");
  add_config(preview_verb, a);
  preview_verb->add_option("--intake,-i", a.intake, "The intake whose reader and mapping are used")->required()->type_name("NAME");
  preview_verb->add_option("samples", a.samples, "Files as the instrument writes them; - is standard input")->required()->type_name("SAMPLE");
  preview_verb->callback([&] { code = preview(screen, a.config, a.intake, {a.samples.begin(), a.samples.end()}); });

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

  auto* aside_verb = app.add_subcommand("aside", "List what was set aside, and why");
  add_list(aside_verb, a);
  aside_verb->add_option("--intake", a.list.intake, "By the way it came");
  aside_verb->callback([&] { code = list_aside(screen, a.config, a.list); });

  auto* deliveries_verb = app.add_subcommand("deliveries", "List deliveries to outlets");
  add_list(deliveries_verb, a);
  add_stock(deliveries_verb, a);
  deliveries_verb->add_option("--outlet", a.list.outlet, "By the outlet's name");
  deliveries_verb->add_option("--state", a.list.word, "waiting, sent or parked")->check(CLI::IsMember({"waiting", "sent", "parked"}));
  deliveries_verb->callback([&] { code = list_deliveries(screen, a.config, a.list); });

  auto* decide_verb = app.add_subcommand("decide", "Evaluate a decision table on facts, for people who write policies");
  decide_verb->add_option("--table,-t", a.table, "The decision table, YAML or JSON")->required()->type_name("FILE");
  decide_verb->add_option("--input", a.input, "Facts: JSON, one object a line or one over many; - is standard input")
      ->type_name("FILE")
      ->capture_default_str();
  decide_verb->add_flag("--explain", a.explain, "With each rule's part in it");
  decide_verb->callback([&] { code = decide(screen, a.table, a.input, a.explain); });

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
