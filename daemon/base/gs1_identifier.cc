#include "base/gs1_identifier.h"

#include <algorithm>
#include <array>
#include <cstdint>

#include "base/gs1_check.h"
#include "base/text.h"

namespace girdle::base {
namespace {

// N: digits. X: set 82. Y: set 39. Z: base64url. 0: a zero.
struct Part {
  char set = 'N';
  uint8_t least = 0, most = 0;
  bool optional = false;
  char check = '\0';  // d: its last is a check digit; p: its last two are check characters
};

constexpr size_t kMostParts = 5;

}  // namespace

struct Gs1Form {
  std::string_view text;
  std::array<Part, kMostParts> parts{};
  size_t count = 0;
  size_t least = 0, most = 0;
};

// One identifier, or several in a row. With `digits`, each has one digit more, from 0 to that.
struct Gs1Row {
  std::string_view first, last;
  char digits;
  Gs1Form form;
};

namespace {

constexpr uint8_t number(std::string_view& text) {
  uint8_t value = 0;
  while (!text.empty() && text.front() >= '0' && text.front() <= '9') {
    value = static_cast<uint8_t>(value * 10 + (text.front() - '0'));
    text.remove_prefix(1);
  }
  return value;
}

// `N14`, `X..20`, `[N6]`, `N13d` with a check digit, `X..25p` with check characters, `0`.
constexpr Part part_of(std::string_view text) {
  Part part;
  if (text.front() == '[') {
    part.optional = true;
    text.remove_prefix(1);
    text.remove_suffix(1);
  }
  part.set = text.front();
  text.remove_prefix(1);
  if (part.set == '0') {
    part.least = part.most = 1;
    return part;
  }
  const bool up_to = text.starts_with("..");
  if (up_to) text.remove_prefix(2);
  part.most = number(text);
  part.least = up_to ? uint8_t{1} : part.most;
  if (!text.empty()) part.check = text.front();
  if (part.check == 'p') part.least = 3;
  return part;
}

constexpr Gs1Form form(std::string_view text) {
  Gs1Form form{.text = text};
  while (!text.empty()) {
    const size_t end = std::min(text.find(' '), text.size());
    const Part part = part_of(text.substr(0, end));
    form.parts[form.count++] = part;
    if (!part.optional) form.least += part.least;
    form.most += part.most;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return form;
}

constexpr Gs1Row row(std::string_view codes, std::string_view text) {
  Gs1Row row{codes, codes, '\0', form(text)};
  if (codes.ends_with(')')) {  // 310-316(5): 3100 to 3105, 3110 to 3115, …
    row.digits = codes[codes.size() - 2];
    codes.remove_suffix(3);
    row.first = row.last = codes;
  }
  if (const size_t dash = codes.find('-'); dash != codes.npos) {
    row.first = codes.substr(0, dash);
    row.last = codes.substr(dash + 1);
  }
  return row;
}

// After section 3 of the General Specifications, and the GS1 Barcode Syntax Dictionary as of July
// 2026 where that is newer.
constexpr Gs1Row kRows[] = {
    row("00", "N18d"),
    row("01-03", "N14d"),
    row("10", "X..20"),
    row("11-13", "N6"),
    row("15-17", "N6"),
    row("20", "N2"),
    row("21-22", "X..20"),
    row("235", "X..28"),
    row("240-241", "X..30"),
    row("242", "N..6"),
    row("243", "X..20"),
    row("250-251", "X..30"),
    row("253", "N13d [X..17]"),
    row("254", "X..20"),
    row("255", "N13d [N..12]"),
    row("30", "N..8"),
    row("310-316(5)", "N6"),
    row("320-337(5)", "N6"),
    row("340-357(5)", "N6"),
    row("360-369(5)", "N6"),
    row("37", "N..8"),
    row("390(9)", "N..15"),
    row("391(9)", "N3 N..15"),
    row("392(9)", "N..15"),
    row("393(9)", "N3 N..15"),
    row("394(3)", "N4"),
    row("395(5)", "N6"),
    row("400-401", "X..30"),
    row("402", "N17d"),
    row("403", "X..30"),
    row("410-417", "N13d"),
    row("420", "X..20"),
    row("421", "N3 X..9"),
    row("422", "N3"),
    row("423", "N3 [N3] [N3] [N3] [N3]"),
    row("424", "N3"),
    row("425", "N3 [N3] [N3] [N3] [N3]"),
    row("426", "N3"),
    row("427", "X..3"),
    row("4300-4301", "X..35"),
    row("4302-4306", "X..70"),
    row("4307", "X2"),
    row("4308", "X..30"),
    row("4309", "N20"),
    row("4310-4311", "X..35"),
    row("4312-4316", "X..70"),
    row("4317", "X2"),
    row("4318", "X..20"),
    row("4319", "X..30"),
    row("4320", "X..35"),
    row("4321-4323", "N1"),
    row("4324-4325", "N10"),
    row("4326", "N6"),
    row("4330-4333", "N6 [X1]"),
    row("7001", "N13"),
    row("7002", "X..30"),
    row("7003", "N10"),
    row("7004", "N..4"),
    row("7005", "X..12"),
    row("7006", "N6"),
    row("7007", "N6 [N6]"),
    row("7008", "X..3"),
    row("7009", "X..10"),
    row("7010", "X..2"),
    row("7011", "N6 [N4]"),
    row("7020-7022", "X..20"),
    row("7023", "X..30"),
    row("7030-7039", "N3 X..27"),
    row("7040", "N1 X3"),
    row("7041", "X..4"),
    row("710-717", "X..20"),
    row("7230-7239", "X2 X..28"),
    row("7240", "X..20"),
    row("7241", "N2"),
    row("7242", "X..25"),
    row("7250", "N8"),
    row("7251", "N12"),
    row("7252", "N1"),
    row("7253-7254", "X..40"),
    row("7255", "X..10"),
    row("7256", "X..90"),
    row("7257", "X..70"),
    row("7258", "X3"),
    row("7259", "X..40"),
    row("8001", "N14"),
    row("8002", "X..20"),
    row("8003", "0 N13d [X..16]"),
    row("8004", "X..30"),
    row("8005", "N6"),
    row("8006", "N14d N4"),
    row("8007", "X..34"),
    row("8008", "N8 [N2] [N2]"),
    row("8009", "X..50"),
    row("8010", "Y..30"),
    row("8011", "N..12"),
    row("8012", "X..20"),
    row("8013-8014", "X..25p"),
    row("8017-8018", "N18d"),
    row("8019", "N..10"),
    row("8020", "X..25"),
    row("8026", "N14d N4"),
    row("8030", "Z..90"),
    row("8040-8041", "N15"),
    row("8042", "N32"),
    row("8043", "N18 [N..2]"),
    row("8110", "X..70"),
    row("8111", "N4"),
    row("8112", "X..70"),
    row("8200", "X..70"),
    row("90", "X..30"),
    row("91-99", "X..90"),
};

bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }
bool is_small(char c) { return c >= 'a' && c <= 'z'; }

// Only of digits, which sort as their numbers do.
bool holds(const Gs1Row& row, std::string_view code) {
  const size_t extra = row.digits == '\0' ? 0 : 1;
  if (code.size() != row.first.size() + extra) return false;
  const std::string_view head = code.substr(0, row.first.size());
  if (head < row.first || head > row.last) return false;
  return extra == 0 || code.back() <= row.digits;
}

bool in_set(char set, char c) {
  switch (set) {
    case '0':
      return c == '0';
    case 'N':
      return is_digit(c);
    case 'Y':
      return is_digit(c) || is_capital(c) || c == '#' || c == '-' || c == '/';
    case 'Z':
      return is_digit(c) || is_capital(c) || is_small(c) || c == '-' || c == '_' || c == '=';
    default:
      return gs1_place_in_set_82(c).has_value();
  }
}

std::string_view name_of_set(char set) {
  switch (set) {
    case '0':
      return "a 0 stands";
    case 'N':
      return "digits stand";
    case 'Y':
      return "capital letters, digits, #, - and / stand";
    case 'Z':
      return "base64url stands";
    default:
      return "only letters, digits and !\"%&'()*+,-./:;<=>?_ stand";
  }
}

// What is wrong with data; kNone: nothing.
struct Flaw {
  enum Kind : uint8_t { kNone, kLength, kCharacter, kCheck } kind = kNone;
  size_t at = 0;  // of the character, or of what checks
  char set = 'N';
  std::string right = {};  // what should check
};

Flaw flaw_of_check(const Part& part, std::string_view data, size_t at) {
  const size_t checks = part.check == 'd' ? 1 : 2;
  if (data.size() < checks) return {.kind = Flaw::kLength};
  const std::string_view checked = data.substr(0, data.size() - checks);
  std::string right = part.check == 'd' ? std::string(1, gs1_check_digit(checked))
                                        : gs1_check_pair(checked).value_or("");
  if (data.ends_with(right)) return {};
  return {.kind = Flaw::kCheck, .at = at + checked.size(), .right = std::move(right)};
}

Flaw flaw_of(const Gs1Form& form, std::string_view data) {
  size_t at = 0;
  for (size_t i = 0; i < form.count; ++i) {
    const Part& part = form.parts[i];
    if (part.optional && at == data.size()) break;
    const std::string_view own = data.substr(at, part.most);
    if (own.size() < part.least) return {.kind = Flaw::kLength};
    for (const char& c : own) {
      if (in_set(part.set, c)) continue;
      return {.kind = Flaw::kCharacter,
              .at = at + static_cast<size_t>(&c - own.data()),
              .set = part.set};
    }
    if (part.check != '\0') {
      if (Flaw flaw = flaw_of_check(part, own, at); flaw.kind != Flaw::kNone) return flaw;
    }
    at += own.size();
  }
  if (at < data.size()) return {.kind = Flaw::kLength};
  return {};
}

std::string characters(size_t count) {
  return std::to_string(count) + (count == 1 ? " character" : " characters");
}

std::string fault_of_length(const Gs1Form& form, size_t size) {
  const std::string there = "it has " + (size == 0 ? "no data" : characters(size));
  if (form.least == form.most) return there + " and needs " + std::to_string(form.least);
  if (size < form.least || size > form.most) {
    return there + " and may have " + std::to_string(form.least) + " to " +
           std::to_string(form.most);
  }
  return there + ", which do not fill its parts, " + std::string(form.text);
}

using Codes = std::span<const std::string_view>;
constexpr std::string_view kAfterGtin[] = {"22", "10", "21"};
constexpr std::string_view kThirdParty[] = {"235"};
constexpr std::string_view kExtension[] = {"254"};
constexpr std::string_view kImporter[] = {"7040"};
constexpr std::string_view kReference[] = {"8020"};
constexpr std::string_view kPartSerial[] = {"8011"};
constexpr std::string_view kServiceInstance[] = {"8019"};
constexpr Codes kNothing[] = {Codes()};
constexpr Codes kOfGtin[] = {kAfterGtin, kThirdParty};
constexpr Codes kOfPlace[] = {kExtension, kImporter};
constexpr Codes kOfParty[] = {kImporter};
constexpr Codes kOfPayee[] = {kReference};
constexpr Codes kOfItem[] = {kAfterGtin};
constexpr Codes kOfPart[] = {kPartSerial};
constexpr Codes kOfService[] = {kServiceInstance};

struct LinkKey {
  std::string_view code;
  std::span<const Codes> qualifiers;
};
constexpr LinkKey kLinkKeys[] = {
    {"00", kNothing},  {"01", kOfGtin},    {"253", kNothing},    {"255", kNothing},
    {"401", kNothing}, {"402", kNothing},  {"414", kOfPlace},    {"415", kOfPayee},
    {"417", kOfParty}, {"8003", kNothing}, {"8004", kOfParty},   {"8006", kOfItem},
    {"8010", kOfPart}, {"8013", kNothing}, {"8017", kOfService}, {"8018", kOfService},
};

const LinkKey* link_key(std::string_view code) {
  const auto* const at = std::find_if(std::begin(kLinkKeys), std::end(kLinkKeys),
                                      [&](const LinkKey& key) { return key.code == code; });
  return at == std::end(kLinkKeys) ? nullptr : at;
}

constexpr std::string_view kNoAttributes[] = {"03",   "21",   "22",   "235",  "254",  "7040",
                                              "7041", "8011", "8014", "8019", "8020", "8040",
                                              "8041", "8042", "8043", "8200"};

}  // namespace

std::optional<Gs1Identifier> Gs1Identifier::named(std::string_view text) {
  if (text.size() > 4 || !std::all_of(text.begin(), text.end(), is_digit)) return std::nullopt;
  for (const Gs1Row& row : kRows) {
    if (holds(row, text)) return Gs1Identifier(row, text);
  }
  return std::nullopt;
}

std::optional<Gs1Identifier> Gs1Identifier::at(std::string_view text) {
  for (size_t size = 2; size <= std::min<size_t>(4, text.size()); ++size) {
    if (const auto found = named(text.substr(0, size))) return found;
  }
  return std::nullopt;
}

bool Gs1Identifier::has_predefined_length() const {
  const std::string_view head = code().substr(0, 2);
  return head <= "04" || (head >= "11" && head <= "20") || (head >= "31" && head <= "36") ||
         head == "41";
}

bool Gs1Identifier::has_implied_decimal_point() const { return row_->digits != '\0'; }

size_t Gs1Identifier::least() const { return row_->form.least; }
size_t Gs1Identifier::most() const { return row_->form.most; }

bool Gs1Identifier::takes(std::string_view data) const {
  return flaw_of(row_->form, data).kind == Flaw::kNone;
}

std::string Gs1Identifier::fault(std::string_view data) const {
  const Flaw flaw = flaw_of(row_->form, data);
  switch (flaw.kind) {
    case Flaw::kNone:
      return {};
    case Flaw::kLength:
      return fault_of_length(row_->form, data.size());
    case Flaw::kCharacter:
      return "its character " + std::to_string(flaw.at + 1) + " is \"" +
             excerpt(data.substr(flaw.at, 1)) + "\", where " + std::string(name_of_set(flaw.set));
    case Flaw::kCheck:
      return flaw.right.size() == 1
                 ? "its check digit is " + std::string(data.substr(flaw.at, 1)) +
                       " and should be " + flaw.right
                 : "its check characters are " + std::string(data.substr(flaw.at, 2)) +
                       " and should be " + flaw.right;
  }
  return {};
}

bool Gs1Identifier::is_link_key() const { return link_key(code()) != nullptr; }

std::span<const std::span<const std::string_view>> Gs1Identifier::link_qualifiers() const {
  const LinkKey* const key = link_key(code());
  if (key == nullptr) return {};
  return key->qualifiers;
}

std::string gs1_in_brackets(std::string_view code) { return '(' + std::string(code) + ')'; }

bool Gs1Identifier::may_be_link_attribute() const {
  return std::find(std::begin(kNoAttributes), std::end(kNoAttributes), code()) ==
         std::end(kNoAttributes);
}

}  // namespace girdle::base
