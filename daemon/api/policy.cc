// The policy in force, and those before it.
#include "api/list.h"
#include "api/problem.h"
#include "api/query.h"
#include "api/resources.h"
#include "base/time.h"

namespace girdle::api {

Response show_policy(const Call& call, Teller& teller) {
  const Query query(call.request, {});
  if (!query.is_right()) return problem(400, query.problem());
  const PolicyView& policy = call.house.policy;
  Response response;
  base::JsonWriter json(response.body);
  json.begin_object().member("name", std::string_view(policy.name)).member("version", std::string_view(policy.version));
  json.member("digest", std::string_view(policy.digest));
  time_member(json, "valid_from", policy.valid_from);
  json.member_or_null("approved_by", policy.approved_by).member_or_null("why", policy.why);
  json.key("rules").raw(policy.text).key("history").begin_array();
  const auto done = teller.ledger().each_activation([&](const ledger::Activation& activation,
                                                        const model::PolicyStamp& stamp) {
    json.begin_object().member("name", std::string_view(stamp.name)).member("version", std::string_view(stamp.version));
    json.member("digest", std::string_view(stamp.digest))
        .member("at", std::string_view(base::format_rfc3339(activation.at)));
    time_member(json, "valid_from", activation.valid_from);
    json.member_or_null("approved_by", activation.approved_by).member_or_null("why", activation.why).end_object();
  });
  if (!done) return problem(done.error());
  json.end_array().end_object();
  return response;
}

}  // namespace girdle::api
