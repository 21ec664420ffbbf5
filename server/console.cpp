#include "server/console.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <cstdio>

#include "server/tokens.hpp"

namespace nappe::server {

Result<std::string> write_console_token(const std::string& path) {
  const Error cannot{Errc::unavailable, "cannot write " + path + ", the console's token"};
  const std::string token = new_token();
  const std::string fresh = path + ".new";
  ::unlink(fresh.c_str());  // One that is there might be readable by others.
  const int file = ::open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (file < 0) return cannot;
  const std::string line = token + '\n';
  const bool written = ::write(file, line.data(), line.size()) == static_cast<ssize_t>(line.size());
  ::close(file);
  if (!written || std::rename(fresh.c_str(), path.c_str()) != 0) return cannot;
  return token;
}

}  // namespace nappe::server
