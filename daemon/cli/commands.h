// The verbs of the command line. Each gives the exit code: 0 done, 1 the input or the state is wrong, 2 the call is
// wrong, 3 the environment failed. What a program may read goes to `out`, everything else to `err`.
#pragma once

#include <cstdint>
#include <filesystem>
#include <iosfwd>
#include <string>
#include <vector>

#include "base/result.h"
#include "ledger/ledger.h"

namespace girdle::cli {

struct Screen {
  std::ostream& out;
  std::ostream& err;
  bool terminal = false;  // `out` is one: colour, and lines that fit its width
  int width = 0;          // in columns; 0 = as wide as it takes
};

int exit_code(const base::Error& error);
// "girdled: …" on `err`, and the exit code.
int fail(Screen& screen, const base::Error& error);

int run(Screen& screen, const std::filesystem::path& config, bool once);
// `draft`: a policy that is checked in the place of the one in force; may be empty.
int check(Screen& screen, const std::filesystem::path& config, const std::filesystem::path& draft, bool json);
int preview(Screen& screen, const std::filesystem::path& config, const std::string& intake,
            const std::vector<std::filesystem::path>& samples);
// Of the subject's last outcome; without a stock number of an invented one. Sends nothing.
int preview_outlet(Screen& screen, const std::filesystem::path& config, const std::string& outlet,
                   const std::string& stock_number);
// `table` is YAML, JSON or DMN XML; `decision` picks one of DMN's, and may be empty where there is one.
int decide(Screen& screen, const std::filesystem::path& table, const std::string& decision,
           const std::filesystem::path& input, bool explain);

int show_case(Screen& screen, const std::filesystem::path& config, const std::string& stock_number, bool json);

struct ListOptions {
  std::string stock_number, intake, instrument, outlet, word, since, until;
  int64_t limit = 100;
  bool json = false;
  bool why = false;  // of deliveries: each attempt
  bool all = false;  // of what was set aside: what is settled, too
};
int list_cases(Screen& screen, const std::filesystem::path& config, const ListOptions& options);
int list_readings(Screen& screen, const std::filesystem::path& config, const ListOptions& options);
int list_aside(Screen& screen, const std::filesystem::path& config, const ListOptions& options);
int list_deliveries(Screen& screen, const std::filesystem::path& config, const ListOptions& options);

// Which deliveries are sent again: those of which all that is given holds.
struct ResendOptions {
  std::string delivery;  // its number in the ledger, or the event's id
  std::string stock_number, since, until, outlet;
  bool parked = false, dry_run = false, json = false;
};
int resend(Screen& screen, const std::filesystem::path& config, const ResendOptions& options);

int list_outlets(Screen& screen, const std::filesystem::path& config, bool json);
int pause_outlet(Screen& screen, const std::filesystem::path& config, const std::string& name, const std::string& why);
int resume_outlet(Screen& screen, const std::filesystem::path& config, const std::string& name);

// Prints the token, which is kept nowhere, on `out`.
int add_token(Screen& screen, const std::filesystem::path& config, const std::string& name, const std::string& role);
int list_tokens(Screen& screen, const std::filesystem::path& config, bool json);
int revoke_token(Screen& screen, const std::filesystem::path& config, const std::string& name);

int list_policies(Screen& screen, const std::filesystem::path& config, bool json);
int list_instruments(Screen& screen, const std::filesystem::path& config, bool json);

struct BacktestOptions {
  std::filesystem::path policy;  // empty: the configuration's shadow_policy
  bool shadow = false;           // nothing is tried: what it said while it was in the shadow
  std::string since, until, site;
  enum class Form { kPeople, kJson, kCsv } form = Form::kPeople;
};
int backtest(Screen& screen, const std::filesystem::path& config, const BacktestOptions& options);

struct VetOptions {
  std::string reader;                 // a manifest, a folder with one, or a name in the readers' folders
  std::vector<std::string> folders;   // looked in before our own
  std::vector<std::string> options;   // NAME=VALUE, for samples without options of their own
  std::vector<std::string> only;      // names of checks
  std::vector<std::filesystem::path> samples;
  std::filesystem::path keep;
  std::string time = "5s";
  bool json = false;
};
int vet(Screen& screen, const VetOptions& options);

struct DraftOptions {
  std::vector<std::filesystem::path> samples;
  std::string serial, tcp;  // a line to listen on instead: a device, or host:port
  uint32_t baud = 9600;
  int data_bits = 8, stop_bits = 1;
  std::string parity = "none";
  int seconds = 60;
  std::filesystem::path out;  // a folder; empty: standard output
  std::string name, reader, record;  // what the person says already
  std::vector<std::string> options;  // NAME=VALUE, of the reader
  std::vector<std::filesystem::path> readers;  // folders with readers that do not ship with girdled
};
int draft(Screen& screen, const DraftOptions& options);

// The whole command line: parses it and calls one of the above.
int main(int argc, const char* const* argv);

}  // namespace girdle::cli
