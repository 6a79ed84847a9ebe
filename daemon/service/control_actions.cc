#include "service/control_actions.h"

#include <algorithm>
#include <vector>

#include "base/text.h"

namespace girdle::service {
namespace {

using base::Result;

// "there is no outlet "til"; there is till and inventory"
Result<ControlAnswer> no_such_outlet(ledger::Ledger& ledger, const std::string& name) {
  auto known = ledger.outlets();
  if (!known) return known.error();
  std::vector<std::string> names;
  for (const ledger::OutletRow& outlet : *known) names.push_back(outlet.name);
  return refusal("there is no outlet " + base::in_quotes(name) +
                 (names.empty() ? " yet: the service has not run with it" : "; there is " + base::listed(names)));
}

bool is_fit_why(const std::string& why) {
  return !base::trimmed(why).empty() && why.size() <= kMostWhyBytes && base::is_utf8(why) &&
         std::ranges::none_of(why, base::is_control);
}

bool is_fit_name(const std::string& name) {
  return !name.empty() && name.size() <= kMostTokenName && std::ranges::all_of(name, base::is_visible);
}

bool is_role(const std::string& role) { return role == "look" || role == "work" || role == "admin"; }

class Doing {
 public:
  Doing(ledger::Ledger& ledger, base::Instant now) : ledger_(ledger), now_(now) {}

  Result<ControlAnswer> operator()(const ResendRequest& request) {
    const ledger::Selection& selection = request.selection;
    if (!selection.outlet.empty() && !ledger_.find_outlet(selection.outlet)) return no_such_outlet(ledger_, selection.outlet);
    if (!selection.says_which()) {
      return refusal("it is not said which deliveries are meant");
    }
    if (selection.delivery != 0) {
      auto row = ledger_.delivery(selection.delivery);
      if (!row) return row.error();
      if (!*row) return refusal("there is no delivery " + std::to_string(selection.delivery));
    }
    auto resent = ledger_.resend(selection, now_);
    if (!resent) return resent.error();
    ControlAnswer answer;
    answer.resent = *resent;
    return answer;
  }

  Result<ControlAnswer> operator()(const PauseRequest& request) {
    const auto outlet = ledger_.find_outlet(request.outlet);
    if (!outlet) return no_such_outlet(ledger_, request.outlet);
    if (!is_fit_why(request.why)) {
      return refusal("a pause needs a reason: one line of at most " + std::to_string(kMostWhyBytes) + " bytes");
    }
    return changed(ledger_.pause_outlet(*outlet, request.why, now_));
  }

  Result<ControlAnswer> operator()(const ResumeRequest& request) {
    const auto outlet = ledger_.find_outlet(request.outlet);
    if (!outlet) return no_such_outlet(ledger_, request.outlet);
    auto answer = changed(ledger_.resume_outlet(*outlet));
    if (!answer) return answer;
    const auto hastened = ledger_.hasten(*outlet, now_);
    if (!hastened) return hastened.error();
    answer->resent.waiting = *hastened;
    return answer;
  }

  Result<ControlAnswer> operator()(const AddTokenRequest& request) {
    if (!is_fit_name(request.name)) {
      return refusal("a token's name has 1 to " + std::to_string(kMostTokenName) + " visible characters, such as counter-1");
    }
    if (!is_role(request.role)) {
      return refusal("there is no role " + base::in_quotes(request.role) + "; there is look, work and admin");
    }
    auto added = ledger_.add_token(request.name, request.role, request.digest, now_);
    if (!added) return added.error();
    if (*added) return changed(added);
    return refusal("there is a token " + base::in_quotes(request.name) +
                   " already; revoke it first, or give another name");
  }

  Result<ControlAnswer> operator()(const RevokeTokenRequest& request) {
    auto revoked = ledger_.revoke_token(request.name, now_);
    if (!revoked) return revoked.error();
    return *revoked ? changed(revoked) : no_such_token(request.name);
  }

 private:
  Result<ControlAnswer> no_such_token(const std::string& name) {
    auto known = ledger_.tokens();
    if (!known) return known.error();
    std::vector<std::string> names;
    for (const ledger::TokenRow& token : *known) {
      if (token.name == name) return refusal("the token " + base::in_quotes(name) + " is revoked already");
      if (!token.revoked_at) names.push_back(token.name);
    }
    return refusal("there is no token " + base::in_quotes(name) + (names.empty() ? "" : "; there is " + base::listed(names)));
  }

  static Result<ControlAnswer> changed(const Result<bool>& done) {
    if (!done) return done.error();
    ControlAnswer answer;
    answer.changed = *done;
    return answer;
  }

  ledger::Ledger& ledger_;
  base::Instant now_;
};

}  // namespace

Result<ControlAnswer> carry_out(ledger::Ledger& ledger, const ControlRequest& request, base::Instant now) {
  return std::visit(Doing(ledger, now), request);
}

Result<ControlAnswer> carry_out_alone(ledger::Ledger& ledger, const ControlRequest& request, base::Instant now) {
  if (auto begun = ledger.begin(); !begun) return begun.error();
  auto answer = carry_out(ledger, request, now);
  if (!answer) {
    ledger.rollback();
    return answer;
  }
  if (auto committed = ledger.commit(); !committed) {
    ledger.rollback();
    return committed.error();
  }
  return answer;
}

}  // namespace girdle::service
