// Outcomes as events of GS1 EPCIS 2.0 and CBV 2.0, in its JSON: an EPCISDocument with an
// ObjectEvent an outcome.
//
// | disposition  | bizStep    | disposition        | persistentDisposition    |
// |--------------|------------|--------------------|--------------------------|
// | release      | inspecting | conformant         | unset non_sellable_other |
// | repeat       | inspecting | non_sellable_other | set non_sellable_other   |
// | hold, refer  | holding    | non_sellable_other | set non_sellable_other   |
// | reject       | inspecting | non_conformant     | set non_sellable_other   |
//
// The inspection of a stone that is to be measured again is not over: it has not passed, and may
// not be sold "pending further evaluation", which is CBV's own example of non_sellable_other. It
// was not set apart either, hence `inspecting`. Each event says the whole lasting state, whatever
// the outcome before said: a receiver may have missed that one (only the latest is sent, routing, a
// parked delivery), or the stone an earlier case. To set what is set changes nothing.
//
// Corrections: by the standard an error declaration repeats the event that was wrong, field by
// field, under the same eventID, and so can only be written by who has the old outcome. Which
// outcomes take back earlier ones is said at model::takes_back(); their `taken_back` become
// declarations, `incorrect_data` of a case that is part of another, `did_not_occur` of one that has
// lost its measurements, and name the event of this outcome as the corrective one. An outcome that
// takes back and comes without the old ones is written without declarations: it still says what
// holds now.
#pragma once

#include <memory>

#include "delivery/body.h"

namespace girdle::delivery {

// What is wrong with the URIs of the configuration is reported at their places; then there is no
// body.
std::unique_ptr<Body> make_epcis_body(const config::Body& body, const base::Zone& zone,
                                      const config::Report& report);

}  // namespace girdle::delivery
