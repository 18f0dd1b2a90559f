// PostgreSQL's client library, opened when a database is first asked for.
//
// Why:     it brings twenty libraries of its own (LDAP, Kerberos, TLS), and opening these took 3 ms
//          of each start of the program, also where no database was meant.
// Use:     open_libpq() once, and where it is well, libpq().PQexec(...) as libpq's manual says.
// Threads: any number; it is opened once and stays open.
#pragma once

#include <libpq-fe.h>

#include "engine/base/result.hpp"

namespace meniscus::adapters::postgres {

// The functions that we use, of the types that libpq's header gives them.
#define MENISCUS_LIBPQ(F)        \
  F(PQclear)                     \
  F(PQcmdTuples)                 \
  F(PQconnectdb)                 \
  F(PQenterPipelineMode)         \
  F(PQerrorMessage)              \
  F(PQexec)                      \
  F(PQexitPipelineMode)          \
  F(PQfinish)                    \
  F(PQgetResult)                 \
  F(PQgetlength)                 \
  F(PQgetvalue)                  \
  F(PQntuples)                   \
  F(PQpipelineSync)              \
  F(PQprepare)                   \
  F(PQresultErrorMessage)        \
  F(PQresultStatus)              \
  F(PQsendQueryParams)           \
  F(PQsendQueryPrepared)         \
  F(PQsetErrorContextVisibility) \
  F(PQsetErrorVerbosity)         \
  F(PQsetNoticeProcessor)        \
  F(PQsetSingleRowMode)          \
  F(PQstatus)

struct LibPq {
#define MENISCUS_MEMBER(name) decltype(&::name) name = nullptr;
  MENISCUS_LIBPQ(MENISCUS_MEMBER)
#undef MENISCUS_MEMBER
};

/// Errors: Input, where the library is not installed or too old.
engine::Status open_libpq();

/// After open_libpq() went well.
const LibPq& libpq();

}  // namespace meniscus::adapters::postgres
