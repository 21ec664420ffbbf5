#pragma once
// `nappe paper`: the fallback on paper, from the server or, when that is dead, the last one it wrote.

#include <string>

#include "client/address.hpp"

namespace nappe::client {

struct PaperOptions {
  std::string size = "roll";  ///< "roll" (42 columns) or "a4".
  std::string folder;         ///< Where napped --paper writes: read when the server does not answer.
};
int run_paper(const Address& server, const PaperOptions& options);

}  // namespace nappe::client
