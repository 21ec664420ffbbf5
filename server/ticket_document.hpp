#pragma once
// A ticket as GET /tickets/{id} tells it.

#include <string>

#include "common/line/state.hpp"

namespace nappe::server {

/// JSON text: ticket, table, version, sent_ms, note?, cancelled?, guests, courses with their state and plates. Arrays
/// in the order of courses and positions: nobody patches this document.
std::string ticket_document(const line::Ticket& ticket);

}  // namespace nappe::server
