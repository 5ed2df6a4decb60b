-- The Assay Office by hand in Lua 5.4, as by_hand.cpp has it: locals and tables of numbers. Messages are tables without a
-- checksum, to this one's advantage.
local SESSION = 360000

local front, vault, to_vault, to_front

local function speech() return {countdown = 0, solved = false, known = false, phase = -1} end

local function power_up()
  front = {settled = 0, last = 0, other = 0, equal = 0, band = 0, silent = 0, status = 0, cell = 0, phase = 0,
           state = 0, solved = false, time = 0, fair_run = 0, light_run = 0, heavy_run = 0, blue_level = 0,
           red_level = 0, drawer_level = 0, blue_left = 0, red_left = 0, drawer_left = 0, clip_left = 0,
           blue = 0, red = 0, drawer = 0, red_phase = 0, clip = 0, begins = 0, pan_empty = false,
           cable_lost = false, peer = {status = 0, silent = 0, solved = false}, speech = speech()}
  vault = {candidate = 0, equal = 0, silent = 0, status = 0, value = 0, phase = 0, strongroom = 0,
           solved = false, exit_door = false, time = 0, lifted_run = 0, secured = false, ledger_shut = false,
           peer = {status = 0, silent = 0, solved = false}, speech = speech()}
  to_vault, to_front = nil, nil
end

local function speak(s, phase, time, known, solved)
  if solved == s.solved and known == s.known and phase == s.phase and s.countdown ~= 0 then
    s.countdown = s.countdown - 1
    return nil
  end
  s.countdown, s.solved, s.known, s.phase = 65, solved, known, phase
  return {phase = phase, time = time * 10, solved = solved}
end

local function hear(peer, message)
  peer.status, peer.silent = 1, 0
  if message.solved then peer.solved = true end
end

local function listen(peer)
  if peer.silent < 200 then peer.silent = peer.silent + 1 end
  if peer.silent == 200 then peer.status = 2 end
end

local function balance(f, raw, good)
  if good then
    local apart = f.band == 0 and 2 or raw - f.last
    if apart < -1 or apart > 1 then
      f.equal, f.band, f.other = 0, 0, 0
    elseif apart ~= 0 then
      if f.other ~= apart then f.band = f.equal end
      f.equal, f.other = 0, -apart
    end
    if f.equal < 41 then f.equal = f.equal + 1 end
    if f.band < 41 then f.band = f.band + 1 end
    if f.equal == 41 then f.other = 0 end
    f.last, f.silent = raw, 0
    local moved = raw - f.settled
    if f.band == 41 and (f.status ~= 1 or moved < -1 or moved > 1) then
      f.settled, f.status = raw, 1
      f.cell = raw < 5 and 0 or raw < 570 and 1 or raw < 641 and 2 or 3
    end
  else
    f.band, f.equal, f.other = 0, 0, 0
    if f.silent < 100 then f.silent = f.silent + 1 end
    if f.silent == 100 then f.status = 2 end
  end
end

local function play(f, clip, length) f.clip, f.clip_left, f.begins = clip, length, 1 end

local function scan_front(f, raw, good, start)
  local message = to_front
  if message then
    hear(f.peer, message)
    if f.phase == 1 and message.phase == 2 then f.phase = 2 end
    to_front = nil
  end
  balance(f, raw, good)
  if not message then listen(f.peer) end
  f.begins = 0
  if f.blue_left > 0 then f.blue_left = f.blue_left - 1 end
  if f.red_left > 0 then f.red_left = f.red_left - 1 end
  if f.drawer_left > 0 then f.drawer_left = f.drawer_left - 1 end
  if f.phase == 0 then
    if start and f.peer.status ~= 0 then f.phase = 1 end
  elseif f.phase == 1 then
    f.time = f.time + 1
    if f.time >= SESSION or f.peer.solved then f.phase = 2 end
  end
  local known, cell = f.status == 1, f.cell
  f.pan_empty = known and cell == 0
  f.cable_lost = f.status == 2 and f.state == 1
  if f.clip_left > 0 then f.clip_left = f.clip_left - 1 end
  if f.phase ~= 0 then
    local state = f.state
    if state == 0 then
      f.state = 1
    elseif state == 1 then
      if not (known and cell == 2) then f.fair_run = 0
      elseif f.fair_run < 71 then f.fair_run = f.fair_run + 1 end
      if known and cell == 1 then
        local run = f.light_run
        f.light_run = run < 970 and run + 1 or 71
        if f.light_run == 71 then
          f.blue_level, f.red_level, f.blue_left, f.red_left = 1, 0, 250, 250
        end
      else
        f.light_run = 0
      end
      if known and cell == 3 then
        local run = f.heavy_run
        f.heavy_run = run < 540 and run + 1 or 41
        if f.heavy_run == 41 then
          f.red_level, f.blue_level, f.red_left, f.blue_left = 2, 0, 400, 400
          play(f, 0, 60)
        end
      else
        f.heavy_run = 0
      end
      if f.fair_run == 71 then
        f.state, f.solved, f.drawer_level, f.drawer_left = 2, true, 1, 1000
        play(f, 1, 150)
      end
    end
  end
  f.blue = f.blue_left > 0 and f.blue_level or 0
  f.drawer = f.drawer_left > 0 and f.drawer_level or 0
  local red = f.red_left > 0 and f.red_level or 0
  if red == 2 then f.red_phase = f.red == 2 and (f.red_phase + 1) % 50 or 0 end
  f.red = red
  to_vault = speak(f.speech, f.phase, f.time, f.status ~= 0, f.solved) or to_vault
end

local function ledger(v, shut, good)
  if not good then
    v.equal = 0
    if v.silent < 100 then v.silent = v.silent + 1 end
    if v.silent == 100 then v.status = 2 end
    return
  end
  v.silent = 0
  local now = shut and 1 or 0
  if v.equal == 0 or now ~= v.candidate then v.candidate, v.equal = now, 0 end
  if v.equal < 4 then v.equal = v.equal + 1 end
  if v.equal == 4 then v.value, v.status = now, 1 end
end

local function scan_vault(v, shut, good)
  local message, began = to_vault, false
  if message then
    hear(v.peer, message)
    if v.phase == 1 and message.phase == 2 then v.phase = 2 end
    if v.phase == 0 and message.phase ~= 0 then
      v.phase, v.time, began = message.phase, message.time // 10, true
    end
    to_vault = nil
  end
  ledger(v, shut, good)
  if not message then listen(v.peer) end
  if v.phase == 1 then
    if not began then v.time = v.time + 1 end
    if v.time >= SESSION then v.phase = 2 end
  end
  v.ledger_shut = v.status == 1 and v.value == 1
  local secured = v.phase == 1 and not v.solved and v.peer.status ~= 2
  if v.phase ~= 0 then
    if v.strongroom == 0 then
      if v.peer.solved then v.strongroom = 1 end
    elseif v.strongroom == 1 then
      if not (v.status == 1 and v.value == 0) then v.lifted_run = 0
      elseif v.lifted_run < 201 then v.lifted_run = v.lifted_run + 1 end
      if v.lifted_run == 201 then v.strongroom, v.solved = 2, true end
    end
    v.exit_door = true
  end
  v.secured = v.exit_door and secured
  to_front = speak(v.speech, v.phase, v.time, v.status ~= 0, v.solved) or to_front
end

local function scan(raw, good, shut, ledger_good, start)
  scan_front(front, raw, good, start)
  scan_vault(vault, shut, ledger_good)
end

local function shown()
  local f, sounds = front, front.clip_left > 0
  return f.blue ~= 0 and 100 or 0, (f.red == 1 or f.red == 2 and f.red_phase < 25) and 100 or 0,
    f.drawer ~= 0 and 100 or 0, vault.secured and 100 or 0, sounds and 1 or 0, sounds and f.clip or 0,
    f.begins, f.pan_empty and 1 or 0, vault.ledger_shut and 1 or 0, f.cable_lost and 1 or 0
end

return power_up, scan, shown
