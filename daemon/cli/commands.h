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
int check(Screen& screen, const std::filesystem::path& config, bool json);
int preview(Screen& screen, const std::filesystem::path& config, const std::string& intake,
            const std::vector<std::filesystem::path>& samples);
int decide(Screen& screen, const std::filesystem::path& table, const std::filesystem::path& input, bool explain);

int show_case(Screen& screen, const std::filesystem::path& config, const std::string& stock_number, bool json);

struct ListOptions {
  std::string stock_number, intake, instrument, outlet, word, since, until;
  int64_t limit = 100;
  bool json = false;
};
int list_cases(Screen& screen, const std::filesystem::path& config, const ListOptions& options);
int list_readings(Screen& screen, const std::filesystem::path& config, const ListOptions& options);
int list_aside(Screen& screen, const std::filesystem::path& config, const ListOptions& options);
int list_deliveries(Screen& screen, const std::filesystem::path& config, const ListOptions& options);

// The whole command line: parses it and calls one of the above.
int main(int argc, const char* const* argv);

}  // namespace girdle::cli
