// Every route of the API.
#include "api/deeds.h"
#include "api/resources.h"
#include "api/route.h"

namespace girdle::api {
namespace {

constexpr size_t kDocument = size_t{1} << 20;  // what an intake takes in one piece
constexpr size_t kDetails = size_t{16} << 10;  // who, why, and what
constexpr size_t kNumbers = size_t{64} << 10;  // a thousand of the ledger's

constexpr Route look(std::string_view pattern, ReadRoute read) {
  return {.method = Method::kGet, .pattern = pattern, .role = Role::kLook, .read = read};
}
constexpr Route look(std::string_view pattern, StandingRoute standing) {
  return {.method = Method::kGet, .pattern = pattern, .role = Role::kLook, .standing = standing};
}
constexpr Route deed(std::string_view pattern, Role role, size_t most_body, DeedRoute deed) {
  return {.method = Method::kPost, .pattern = pattern, .role = role, .most_body = most_body, .deed = deed};
}
// The server answers it itself.
constexpr Route of_server(Method method, std::string_view pattern, Role role, size_t most_body = 0) {
  return {.method = method, .pattern = pattern, .role = role, .most_body = most_body};
}

constexpr Route kRoutes[] = {
    look("/api/v1/cases", list_cases),
    look("/api/v1/cases/{id}", show_case),
    deed("/api/v1/cases/{id}/decisions", Role::kWork, kDetails, decide_by_hand),
    look("/api/v1/subjects/{key}", show_subject),
    look("/api/v1/readings", list_readings),
    look("/api/v1/readings/{id}", show_reading),
    deed("/api/v1/readings/{id}/binding", Role::kWork, kDetails, bind_reading),
    deed("/api/v1/aside/retries", Role::kWork, kNumbers, try_again),
    look("/api/v1/aside", list_asides),
    look("/api/v1/aside/{id}", show_aside),
    look("/api/v1/aside-causes", list_aside_causes),
    look("/api/v1/declarations", list_declarations),
    look("/api/v1/benches", list_benches),
    look("/api/v1/instruments", list_instruments),
    look("/api/v1/instruments/{serial}", show_instrument),
    look("/api/v1/intakes", list_intakes),
    look("/api/v1/intakes/{name}", show_intake),
    deed("/api/v1/intakes/{name}", Role::kWork, kDocument, post_document),
    deed("/api/v1/intakes/{name}/preview", Role::kWork, kDocument, preview_document),
    look("/api/v1/outlets", list_outlets),
    look("/api/v1/outlets/{name}", show_outlet),
    deed("/api/v1/outlets/{name}/pause", Role::kAdmin, kDetails, pause_outlet),
    deed("/api/v1/outlets/{name}/resume", Role::kAdmin, kDetails, resume_outlet),
    look("/api/v1/deliveries", list_deliveries),
    look("/api/v1/deliveries/{id}", show_delivery),
    deed("/api/v1/deliveries/{id}/resend", Role::kWork, kDetails, resend_delivery),
    deed("/api/v1/resends", Role::kAdmin, kDetails, resend_selection),
    look("/api/v1/policy", show_policy),
    of_server(Method::kGet, "/api/v1/session", Role::kLook),
    of_server(Method::kPost, "/api/v1/session", Role::kNobody, kDetails),
    of_server(Method::kDelete, "/api/v1/session", Role::kNobody),
    of_server(Method::kGet, "/api/v1/events", Role::kLook),
    of_server(Method::kGet, "/health/live", Role::kNobody),
    of_server(Method::kGet, "/health/ready", Role::kNobody),
    of_server(Method::kGet, "/metrics", Role::kLook),  // without a token, of a loopback address
};

}  // namespace

std::span<const Route> routes() { return kRoutes; }

}  // namespace girdle::api
