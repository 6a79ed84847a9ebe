// girdled token add, list, revoke.
#include <openssl/rand.h>

#include <array>
#include <ostream>

#include "base/digest.h"
#include "base/json.h"
#include "base/time.h"
#include "cli/control_call.h"
#include "cli/open_ledger.h"
#include "cli/table_view.h"
#include "delivery/base64.h"

namespace girdle::cli {
namespace {

using base::Result;

// "gt_" and 32 random bytes as base64url (RFC 4648 section 5) without padding.
Result<std::string> draw_token() {
  std::array<uint8_t, 32> random;
  if (RAND_bytes(random.data(), static_cast<int>(random.size())) != 1) {
    return base::environment_error("the system gives no random numbers");
  }
  std::string text = "gt_";
  delivery::append_base64(text, random);
  for (char& c : text) c = c == '+' ? '-' : c == '/' ? '_' : c;
  while (text.back() == '=') text.pop_back();
  return text;
}

std::string_view state_of(const ledger::TokenRow& token) { return token.revoked_at ? "revoked" : "holds"; }

void print_json(Screen& screen, const ledger::TokenRow& token) {
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().member("token", std::string_view(token.name)).member("role", std::string_view(token.role));
  json.member("made_at", std::string_view(base::format_rfc3339(token.made_at)));
  json.member_or_null("revoked_at", token.revoked_at ? base::format_rfc3339(*token.revoked_at) : std::string());
  json.end_object();
  screen.out << out << '\n';
}

}  // namespace

int add_token(Screen& screen, const std::filesystem::path& config, const std::string& name, const std::string& role) {
  const auto ledger = ledger_path(config);
  if (!ledger) return fail(screen, ledger.error());
  const auto token = draw_token();
  if (!token) return fail(screen, token.error());
  const auto answer = ask_or_do(*ledger, service::AddTokenRequest{name, role, base::sha256(*token)});
  if (!answer) return fail(screen, answer.error());
  screen.out << *token << std::endl;
  if (!screen.out) {
    return fail(screen, base::environment_error("the token could not be printed, and nobody knows it; girdled token revoke " +
                                                name + ", then add it again"));
  }
  screen.err << "the token " << name << " may " << role << "; it is shown this once, and kept nowhere\n";
  return 0;
}

int list_tokens(Screen& screen, const std::filesystem::path& config, bool as_json) {
  auto open = open_ledger(config);
  if (!open) return fail(screen, open.error());
  const auto tokens = open->ledger->tokens();
  if (!tokens) return fail(screen, tokens.error());
  TableView table({"TOKEN", "ROLE", "MADE", "STATE", "REVOKED"});
  const std::string& zone = open->settings.timezone;
  for (const ledger::TokenRow& token : *tokens) {
    if (as_json) {
      print_json(screen, token);
      continue;
    }
    table.add({token.name, token.role, local_time(token.made_at, zone), std::string(state_of(token)),
               token.revoked_at ? local_time(*token.revoked_at, zone) : ""});
  }
  if (as_json) return 0;
  if (table.empty()) {
    screen.err << "No tokens.\n";
  } else {
    table.print(screen);
  }
  return 0;
}

int revoke_token(Screen& screen, const std::filesystem::path& config, const std::string& name) {
  const auto ledger = ledger_path(config);
  if (!ledger) return fail(screen, ledger.error());
  const auto answer = ask_or_do(*ledger, service::RevokeTokenRequest{name});
  if (!answer) return fail(screen, answer.error());
  screen.out << "the token " << name << " lets nobody in any more\n";
  return 0;
}

}  // namespace girdle::cli
