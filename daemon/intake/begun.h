// A document that was begun and not yet handed over: given up when the coroutine leaves, also by
// being cancelled.
#pragma once

#include "intake/intake.h"
#include "intake/sink.h"

namespace girdle::intake {

class Begun {
 public:
  Begun(Sink& sink, Status& status) : sink_(&sink), status_(status) {}
  ~Begun() {
    if (sink_ == nullptr) return;
    ++status_.abandoned;
    sink_->abandon();
  }
  Begun(const Begun&) = delete;
  Begun& operator=(const Begun&) = delete;

  void committed() { sink_ = nullptr; }

 private:
  Sink* sink_;
  Status& status_;
};

}  // namespace girdle::intake
