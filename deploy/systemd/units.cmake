# The units: one club on a machine (leadside.service), and many, each by its name (leadside@CLUB.service). Both are made of
# the same files, in the build's folder units/; a club among many doesn't see the others' files, and may have a socket that wakes it.
file(READ ${CMAKE_CURRENT_LIST_DIR}/sandbox SANDBOX)
foreach(many "" "@")
  if(many)
    set(OF_CLUB " (%i)")
    set(STATE leadside-clubs/%i)
    set(LOG %i)
    set(NAME %i)
    # A club that nobody needed for a while has ended well, and its socket wakes it.
    set(RESTART on-failure)
    set(SETTINGS "# How this club differs: LEADSIDE_OPTIONS with the port of its own, and for its copies what the other file says.
Environment=LEADSIDE_BACKUP_DAYS=30
EnvironmentFile=-/etc/default/leadside
EnvironmentFile=/etc/leadside/%i.conf")
    set(ALONE "TemporaryFileSystem=/var/lib/leadside-clubs:ro
BindPaths=/var/lib/leadside-clubs/%i
InaccessiblePaths=-/var/lib/leadside
")
  else()
    set(OF_CLUB "")
    set(STATE leadside)
    set(LOG requests)
    set(NAME leadside)
    set(RESTART always)
    set(SETTINGS "Environment=\"LEADSIDE_OPTIONS=--listen 127.0.0.1:8470 --behind-proxy\" LEADSIDE_BACKUP_DAYS=30
EnvironmentFile=-/etc/default/leadside")
    set(ALONE "")
  endif()
  set(DATA /var/lib/${STATE})
  configure_file(${CMAKE_CURRENT_LIST_DIR}/leadside.service.in units/leadside${many}.service @ONLY)
  configure_file(${CMAKE_CURRENT_LIST_DIR}/leadside-backup.service.in units/leadside-backup${many}.service @ONLY)
  if(many)
    configure_file(${CMAKE_CURRENT_LIST_DIR}/leadside.socket.in units/leadside@.socket @ONLY)
  endif()
  configure_file(${CMAKE_CURRENT_LIST_DIR}/leadside-backup.timer.in units/leadside-backup${many}.timer @ONLY)
endforeach()
