// What vetting a reader found, for its author: a line for each check, below it where, what and what
// would be right, at the end the verdict. Lines are broken where a terminal's width asks for it.
#pragma once

#include <string>
#include <vector>

#include "cli/commands.h"
#include "vet/report.h"

namespace girdle::cli {

// Checks as they come: those that are left out for one reason in one line. The screen lives longer.
class VetView {
 public:
  explicit VetView(Screen& screen) : screen_(screen) {}

  void print(const vet::Check& check);
  void print_verdict(const vet::Report& report);

 private:
  void print_made(const vet::Check& check);
  void print_left_out();
  void print_fault(const vet::Fault& fault);
  void print_below(const char* label, const std::string& text, bool is_bold = false);

  Screen& screen_;
  std::vector<std::string> left_out_;
  std::string why_;
};

}  // namespace girdle::cli
