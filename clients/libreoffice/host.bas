' LibreOffice's own section of the module; build.py puts it where the one for Excel stands.
'
' The trap: com.sun.star.sheet.FunctionAccess would fetch and code a text in one line each,
' but called from a cell's function it ends the office (7.4) when that cell is worked out for
' a lookup, MATCH for one, that waits for it. Nothing here may work out another formula.

Private Function JG_Fetch(ByVal url As String) As String
    Dim access_point As Object
    On Error GoTo no_answer
    access_point = createUnoService("com.sun.star.ucb.SimpleFileAccess")
    JG_Fetch = JG_Read(access_point.openFileRead(url))
    Exit Function
no_answer:
    JG_Fetch = JG_Why(Error$, url)
End Function

' The office has no object for a POST in Basic; its content broker sends one, from a pipe and
' into another. A status of 4xx raises and loses the answer, so the service is asked for 200.
Private Function JG_Post(ByVal url As String, ByVal body As String) As String
    Dim broker As Object
    Dim content As Object
    Dim writer As Object
    Dim sent As Object
    Dim given_back As Object
    Dim argument As New com.sun.star.ucb.PostCommandArgument2
    Dim order As New com.sun.star.ucb.Command
    On Error GoTo no_answer
    broker = createUnoService("com.sun.star.ucb.UniversalContentBroker")
    content = broker.queryContent(broker.createContentIdentifier(url))
    sent = createUnoService("com.sun.star.io.Pipe")
    given_back = createUnoService("com.sun.star.io.Pipe")
    writer = createUnoService("com.sun.star.io.TextOutputStream")
    writer.setOutputStream(sent)
    writer.setEncoding("UTF-8")
    writer.writeString(body)
    writer.closeOutput()
    argument.Source = sent
    argument.Sink = given_back
    argument.MediaType = "application/json"
    order.Name = "post"
    order.Handle = -1
    order.Argument = argument
    content.execute(order, 0, Nothing)
    JG_Post = JG_Read(given_back)
    Exit Function
no_answer:
    JG_Post = JG_Why(Error$, url)
End Function

Private Function JG_Read(stream As Object) As String
    Dim reader As Object
    reader = createUnoService("com.sun.star.io.TextInputStream")
    reader.setInputStream(stream)
    reader.setEncoding("UTF-8")
    JG_Read = reader.readString(Array(), False)
    reader.closeInput()
End Function

Private Function JG_Why(ByVal message As String, ByVal url As String) As String
    If InStr(message, "Connect") > 0 Then
        JG_Why = JG_NoAnswer(url)
    Else
        JG_Why = "# what answers there is not a jointgeo service, or refuses: " & Left(url, InStr(url, "/v1/") - 1)
    End If
End Function

' A text as UTF-8 with every octet but plain letters, digits and -._~ written %XX (RFC 3986).
Private Function JG_Coded(ByVal given As String) As String
    Dim coded As String
    Dim code As Long
    Dim i As Long
    i = 1
    Do While i <= Len(given)
        code = JG_Unit(given, i)
        If code >= 55296 And code < 56320 And i < Len(given) Then
            ' Two units make one sign beyond the first 65536.
            i = i + 1
            code = 65536 + (code - 55296) * 1024 + JG_Unit(given, i) - 56320
        End If
        If (code >= 48 And code < 58) Or (code >= 65 And code < 91) Or (code >= 97 And code < 123) Or code = 45 Or code = 46 Or code = 95 Or code = 126 Then
            coded = coded & Chr(code)
        ElseIf code < 128 Then
            coded = coded & JG_Octet(code)
        ElseIf code < 2048 Then
            coded = coded & JG_Octet(192 + code \ 64) & JG_Octet(128 + code Mod 64)
        ElseIf code < 65536 Then
            coded = coded & JG_Octet(224 + code \ 4096) & JG_Octet(128 + (code \ 64) Mod 64) & JG_Octet(128 + code Mod 64)
        Else
            coded = coded & JG_Octet(240 + code \ 262144) & JG_Octet(128 + (code \ 4096) Mod 64) & JG_Octet(128 + (code \ 64) Mod 64) & JG_Octet(128 + code Mod 64)
        End If
        i = i + 1
    Loop
    JG_Coded = coded
End Function

Private Function JG_Unit(given As String, ByVal i As Long) As Long
    Dim code As Long
    code = Asc(Mid(given, i, 1))
    If code < 0 Then code = code + 65536
    JG_Unit = code
End Function

Private Function JG_Octet(ByVal code As Long) As String
    JG_Octet = "%" & Right("0" & Hex(code), 2)
End Function
