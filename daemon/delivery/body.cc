#include "delivery/body.h"

#include "delivery/csv_body.h"
#include "delivery/form_body.h"
#include "delivery/json_body.h"
#include "delivery/standard_bodies.h"
#include "delivery/xml_body.h"

namespace girdle::delivery {

std::unique_ptr<Body> make_body(const config::Outlet& outlet, const base::Zone& zone,
                                const config::Report& report) {
  switch (outlet.body.kind) {
    case config::Body::Kind::kStructured:
    case config::Body::Kind::kBinary:
    case config::Body::Kind::kBatch:
    case config::Body::Kind::kWebhook:
    case config::Body::Kind::kEpcis:
      return make_standard_body(outlet, report, zone);
    case config::Body::Kind::kJson:
      return make_json_body(outlet, zone, report);
    case config::Body::Kind::kXml:
      return make_xml_body(outlet, zone, report);
    case config::Body::Kind::kForm:
      return make_form_body(outlet, zone, report);
    case config::Body::Kind::kCsv:
      return make_csv_body(outlet, zone, report);
  }
  return nullptr;
}

}  // namespace girdle::delivery
