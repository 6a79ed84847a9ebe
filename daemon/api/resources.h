// What the routes answer that only look. One file a resource; each function is a route's (routes.cc).
#pragma once

#include "api/route.h"

namespace girdle::api {

Response list_cases(const Call& call, Teller& teller);  // cases.cc
Response show_case(const Call& call, Teller& teller);
Response show_subject(const Call& call, Teller& teller);   // subjects.cc
Response list_readings(const Call& call, Teller& teller);  // readings.cc
Response show_reading(const Call& call, Teller& teller);
Response list_asides(const Call& call, Teller& teller);  // asides.cc
Response show_aside(const Call& call, Teller& teller);
Response list_aside_causes(const Call& call, Teller& teller);
Response list_declarations(const Call& call, Teller& teller);  // declarations.cc
Response list_benches(const Call& call, Teller& teller);       // benches.cc
Response list_instruments(const Call& call, Teller& teller);   // instruments.cc
Response show_instrument(const Call& call, Teller& teller);
Response list_intakes(const Call& call, Teller& teller, const Standing& standing);  // intakes.cc
Response show_intake(const Call& call, Teller& teller, const Standing& standing);
Response list_outlets(const Call& call, Teller& teller, const Standing& standing);  // outlets.cc
Response show_outlet(const Call& call, Teller& teller, const Standing& standing);
Response list_deliveries(const Call& call, Teller& teller);  // deliveries.cc
Response show_delivery(const Call& call, Teller& teller);
Response show_policy(const Call& call, Teller& teller);  // policy.cc

}  // namespace girdle::api
