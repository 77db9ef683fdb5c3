#include "stock/stock.h"

namespace stock {

int Stock::count_of(ClassId part) const {
  int sum = 0;
  for (const StockType& t : types) {
    if (t.part == part) sum += t.count;
  }
  return sum;
}

int Stock::pieces() const {
  int sum = 0;
  for (const StockType& t : types) sum += t.count;
  return sum;
}

}  // namespace stock
