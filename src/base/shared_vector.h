// A vector that copies share until one of them is changed. For lists that thousands of values hold alike.
//
// Reading is as with std::vector; what changes it copies first if somebody else holds the same items. Several threads
// may read and copy one object at once; who changes an object must be alone with it.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <memory>
#include <utility>
#include <vector>

#include "base/check.h"

namespace base {

template <class T>
class SharedVector {
 public:
  using value_type = T;
  using const_iterator = const T*;

  SharedVector() = default;
  SharedVector(std::vector<T> items)  // NOLINT(google-explicit-constructor): as good as a vector
      : items_(items.empty() ? nullptr : std::make_shared<std::vector<T>>(std::move(items))) {}
  SharedVector(std::initializer_list<T> items) : SharedVector(std::vector<T>(items)) {}

  [[nodiscard]] std::size_t size() const { return items_ ? items_->size() : 0; }
  [[nodiscard]] bool empty() const { return size() == 0; }
  [[nodiscard]] const T* data() const { return items_ ? items_->data() : nullptr; }
  [[nodiscard]] const T* begin() const { return data(); }
  [[nodiscard]] const T* end() const { return data() + size(); }
  [[nodiscard]] const T& operator[](std::size_t i) const { return (*items_)[i]; }
  /// Out of range: KW_CHECK.
  [[nodiscard]] const T& at(std::size_t i) const {
    KW_CHECK(i < size(), "an item that is not there");
    return (*items_)[i];
  }
  [[nodiscard]] const T& front() const { return at(0); }
  [[nodiscard]] const T& back() const { return at(size() - 1); }

  /// The items to be changed, this object's alone from now on. Not to be held beyond the next copy.
  [[nodiscard]] std::vector<T>& own() {
    if (!items_) {
      items_ = std::make_shared<std::vector<T>>();
    } else if (items_.use_count() > 1) {
      items_ = std::make_shared<std::vector<T>>(*items_);
    }
    return *items_;
  }
  void push_back(T item) { own().push_back(std::move(item)); }

 private:
  std::shared_ptr<std::vector<T>> items_;  ///< null: empty
};

}  // namespace base
