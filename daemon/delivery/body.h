// What a message says of outcomes, without how it travels: the bodies that an outlet may choose.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "model/outcome.h"

namespace girdle::delivery {

// Writes messages, one after another, each of one outcome or several: begin(), add() for each, end(). Not thread-safe.
class Body {
 public:
  virtual ~Body() = default;

  // Of the messages: "application/cloudevents+json; charset=utf-8".
  virtual std::string_view content_type() const = 0;
  // Of files that hold such a message, without the dot: "jsonl".
  virtual std::string_view extension() const = 0;

  virtual void begin(std::string& /*out*/) {}
  // The error: the outcome cannot be said in this body (a word that the configuration does not cover), for a person;
  // `out` is then as it was, and the message goes on without it.
  virtual base::Result<void> add(std::string& out, const model::Outcome& outcome) = 0;
  virtual void end(std::string& /*out*/) {}

  // Appends header fields that go with the body, each with its line end: of a message with one outcome.
  virtual base::Result<void> add_fields(std::string& /*head*/, const model::Outcome& /*outcome*/) {
    return base::Result<void>();
  }
};

// The outlet's body, in the form that fits its kind: in a folder, and in a batch, outcomes are lines, rows or elements.
// `site` and its zone are the house's. Everything that is wrong in the configuration is reported, with its place; then
// there is no body.
std::unique_ptr<Body> make_body(const config::Outlet& outlet, const base::Zone& zone, const config::Report& report);

}  // namespace girdle::delivery
