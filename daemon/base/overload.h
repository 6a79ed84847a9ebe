// One visitor made of several functions, for std::visit.
#pragma once

namespace girdle::base {

template <class... F>
struct Overload : F... {
  using F::operator()...;
};
template <class... F>
Overload(F...) -> Overload<F...>;

}  // namespace girdle::base
