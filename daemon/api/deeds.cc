#include "api/deeds.h"

#include <algorithm>
#include <utility>

#include "api/body.h"
#include "api/identifier.h"
#include "api/problem.h"
#include "api/query.h"

namespace girdle::api {
namespace {

constexpr size_t kMostRetries = 1000;

Response told(const DeedAnswer& done) {
  if (done.kind != DeedAnswer::Kind::kDone) return problem(done);
  Response response;
  response.status = done.made ? 201 : 200;
  response.body = done.json;
  return response;
}

void act(Desk& desk, Deed deed, Answer answer) {
  desk.act(std::move(deed), [answer = std::move(answer)](const DeedAnswer& done) { answer(told(done)); });
}

// A deed takes its details in the body; behind the "?" only a document's name.
bool has_wrong_query(const Call& call, const Answer& answer) {
  const Query query(call.request, {});
  if (query.is_right()) return false;
  answer(problem(400, query.problem()));
  return true;
}

const IntakeView* intake_of(const Call& call) {
  const auto& intakes = call.house.intakes;
  const auto at =
      std::ranges::find(intakes, call.parts[0], [](const IntakeView& i) -> std::string_view { return i.name; });
  return at == intakes.end() ? nullptr : &*at;
}

bool has_outlet(const Call& call) {
  return std::ranges::any_of(call.house.outlets, [&](const OutletView& o) { return o.name == call.parts[0]; });
}

Response no_intake(const Call& call) { return no_such("intake", call.parts[0], "/api/v1/intakes"); }
Response no_outlet(const Call& call) { return no_such("outlet", call.parts[0], "/api/v1/outlets"); }

// What a browser's form can send anywhere is no document.
bool is_form(std::string_view content_type) {
  return content_type == "application/x-www-form-urlencoded" || content_type == "multipart/form-data";
}

// Why the body is no document. Status 200: it is one.
Response wrong_document(const Request& request) {
  if (is_form(request.content_type)) {
    return problem(
        415,
        "the body is a form; it is to be the document itself, with its own Content-Type or application/octet-stream");
  }
  if (request.body.empty()) return problem(400, "the body is empty; it is to be the document");
  return {};
}

// The number in a case's id, where the ledger is ours.
std::optional<ledger::Number> case_of(const Call& call) {
  const std::string ours = call.house.ledger + '-';
  const std::string_view id = call.parts[0];
  return id.starts_with(ours) ? number_of(id.substr(ours.size())) : std::nullopt;
}

}  // namespace

void post_document(const Call& call, Desk& desk, Answer answer) {
  Query query(call.request, {"name"});
  std::string name = query.text("name");
  if (!query.is_right()) return answer(problem(400, query.problem()));
  const IntakeView* const intake = intake_of(call);
  if (!intake) return answer(no_intake(call));
  if (intake->kind != "post") {
    return answer(problem(409, "the intake " + intake->name + " takes no posts: it is a " + intake->kind +
                                   " intake; one with  post:  in the configuration does"));
  }
  Response wrong = wrong_document(call.request);
  if (wrong.status != 200) return answer(std::move(wrong));
  act(desk, Take{intake->name, std::move(name), call.request.body}, std::move(answer));
}

void preview_document(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  const IntakeView* const intake = intake_of(call);
  if (!intake) return answer(no_intake(call));
  Response wrong = wrong_document(call.request);
  if (wrong.status != 200) return answer(std::move(wrong));
  act(desk, Preview{intake->name, call.request.body}, std::move(answer));
}

void bind_reading(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  Body body(call.request, {"stock_number", "position", "who", "why"});
  Bind bind;
  bind.stock_number = body.text("stock_number", Body::kMostStockNumber);
  bind.position = body.text_if_any("position", Body::kMostStockNumber);
  bind.by = body.by();
  for (const auto& [name, text] :
       {std::pair("stock_number", &bind.stock_number), std::pair("position", &bind.position)}) {
    if (text->find('#') == std::string::npos) continue;
    body.refuse(std::string(name) + " has a # in it; the stone of a piece stands in  position  alone");
  }
  if (!body.is_right()) return answer(body.refusal());
  const auto reading = number_of(call.parts[0]);
  if (!reading) return answer(no_such("reading", call.parts[0], "/api/v1/readings"));
  bind.reading = *reading;
  act(desk, std::move(bind), std::move(answer));
}

void decide_by_hand(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  Body body(call.request, {"disposition", "sequence", "who", "why"});
  DecideByHand decide;
  decide.disposition = body.disposition("disposition");
  decide.sequence = body.number("sequence", 1, Body::kMostNumber);
  decide.by = body.by();
  if (!body.is_right()) return answer(body.refusal());
  const auto number = case_of(call);
  if (!number) return answer(no_such("case", call.parts[0], "/api/v1/cases"));
  decide.case_number = *number;
  act(desk, std::move(decide), std::move(answer));
}

void try_again(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  Body body(call.request, {"ids"});
  TryAgain again;
  again.asides = body.numbers("ids", kMostRetries);
  if (!body.is_right()) return answer(body.refusal());
  act(desk, std::move(again), std::move(answer));
}

void resend_delivery(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  const Body body(call.request, {});
  if (!body.is_right()) return answer(body.refusal());
  const auto delivery = number_of(call.parts[0]);
  if (!delivery) return answer(no_such("delivery", call.parts[0], "/api/v1/deliveries"));
  Resend resend;
  resend.selection.delivery = *delivery;
  act(desk, std::move(resend), std::move(answer));
}

void resend_selection(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  Body body(call.request, {"stock_number", "parked", "since", "until", "outlet"});
  Resend resend;
  resend.selection.stock_number = body.text_if_any("stock_number", Body::kMostStockNumber + 1);  // and the * behind it
  resend.selection.parked = body.flag_if_any("parked");
  resend.selection.since = body.time_if_any("since");
  resend.selection.until = body.time_if_any("until");
  resend.selection.outlet = body.text_if_any("outlet", Body::kMostStockNumber);
  if (body.is_right() && !resend.selection.says_which()) {
    body.refuse(
        "stock_number, parked, since and until: one of them has to say which deliveries are meant; \"parked\": true "
        "means all that were given up");
  }
  if (!body.is_right()) return answer(body.refusal());
  act(desk, std::move(resend), std::move(answer));
}

void pause_outlet(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  Body body(call.request, {"who", "why"});
  Pause pause;
  pause.by = body.by();
  if (!body.is_right()) return answer(body.refusal());
  if (!has_outlet(call)) return answer(no_outlet(call));
  pause.outlet = call.parts[0];
  act(desk, std::move(pause), std::move(answer));
}

void resume_outlet(const Call& call, Desk& desk, Answer answer) {
  if (has_wrong_query(call, answer)) return;
  const Body body(call.request, {});
  if (!body.is_right()) return answer(body.refusal());
  if (!has_outlet(call)) return answer(no_outlet(call));
  act(desk, Resume{std::string(call.parts[0])}, std::move(answer));
}

}  // namespace girdle::api
