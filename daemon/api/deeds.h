// What a person has done through the API. Each reads its request and asks the desk; the answer comes when it is
// durable.
#pragma once

#include "api/route.h"

namespace girdle::api {

void post_document(const Call& call, Desk& desk, Answer answer);     // /intakes/{name}
void preview_document(const Call& call, Desk& desk, Answer answer);  // /intakes/{name}/preview
void bind_reading(const Call& call, Desk& desk, Answer answer);      // /readings/{id}/binding
void decide_by_hand(const Call& call, Desk& desk, Answer answer);    // /cases/{id}/decisions
void try_again(const Call& call, Desk& desk, Answer answer);         // /aside/retries
void resend_delivery(const Call& call, Desk& desk, Answer answer);   // /deliveries/{id}/resend
void resend_selection(const Call& call, Desk& desk, Answer answer);  // /resends
void pause_outlet(const Call& call, Desk& desk, Answer answer);      // /outlets/{name}/pause
void resume_outlet(const Call& call, Desk& desk, Answer answer);     // /outlets/{name}/resume

}  // namespace girdle::api
