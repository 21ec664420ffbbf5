# cmake -DFOLDER=... -DNPM=... -P npm_packages.cmake: the locked packages of a folder, installed again only when its lock
# has changed, whoever installed them last.
set(lock ${FOLDER}/package-lock.json)
set(stamp ${FOLDER}/node_modules/.locked)
if(EXISTS ${stamp})
  file(SHA256 ${lock} wanted)
  file(SHA256 ${stamp} there)
endif()
if(NOT EXISTS ${stamp} OR NOT wanted STREQUAL there)
  execute_process(COMMAND ${NPM} ci --silent WORKING_DIRECTORY ${FOLDER} COMMAND_ERROR_IS_FATAL ANY)
  file(READ ${lock} content)
  file(WRITE ${stamp} "${content}")
endif()
file(TOUCH ${stamp})
