#pragma once
// The descriptions of the two interfaces, built into the program from server/api/; the commands in them from what reads
// them (common/wire/command_schema.hpp).

#include <string>

namespace nappe::server {

std::string openapi_document();
std::string asyncapi_document();

}  // namespace nappe::server
