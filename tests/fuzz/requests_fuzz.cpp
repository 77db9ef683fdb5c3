// Any bytes as the body of every request the page may send: read, or refused with a reason.
#include "fuzz/target.h"
#include "serve/requests.h"

namespace {

template <class Request>
void read(std::string_view input) {
  Request out;
  document::Diagnostics d;
  const bool good = serve::read_request(input, out, d);
  fuzz_check(good != d.has_errors(), "a body is read or its problem is told");
}

}  // namespace

void fuzz_one(std::string_view input) {
  read<serve::OpenRequest>(input);
  read<serve::EditsRequest>(input);
  read<serve::TextRequest>(input);
  read<serve::ReloadRequest>(input);
  read<serve::StockRequest>(input);
  read<serve::VariantRequest>(input);
}
